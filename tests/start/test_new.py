"""`towerpace new`: from a dozen answers to a scenario that runs, or to a refusal at the question."""

import datetime as dt
import math
import random
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import typer
from typer.testing import CliRunner

from towerpace.answers.outline import outline
from towerpace.answers.prepare import prepare
from towerpace.cli import new as command
from towerpace.cli.app import app
from towerpace.climate.height import gust_ratio
from towerpace.face.forecast import forecast
from towerpace.faults import Fault, InputError
from towerpace.scenario import load
from towerpace.scenario.assumptions import counts_by_kind
from towerpace.scenario.json_schema import shipped_text
from towerpace.start.folder import written_whole
from towerpace.start.new import begin, example
from towerpace.start.questions import NotTakenError, answer, questions, taken
from towerpace.start.scenario_text import height_law, law_told
from towerpace.start.shipped import shipped

WIND = {"wind_limit": "9", "wind_kind": "gust", "wind_authority": "lift plan of the panel contractor"}
OPTIONS = [word for key, text in WIND.items() for word in (f"--{key.replace('_', '-')}", text)]
RUN = "from towerpace.cli.app import main; main()"


def begun(folder: Path, **given: str) -> Path:
    answers, said = taken({**WIND, **given})
    return begin(folder, answers, given=said)


def faults_of(**given: str) -> list[str]:
    with pytest.raises(InputError) as caught:
        taken(given)
    return [fault.text() for fault in caught.value.faults]


@pytest.fixture(scope="module")
def usual(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A scenario from the default answers."""
    return begun(tmp_path_factory.mktemp("new") / "tower")


def test_the_defaults_make_a_scenario_without_faults(usual):
    scenario = load(usual)

    assert len(scenario.levels.levels) == 20
    assert scenario.settings.limit["panel_lift"].source == WIND["wind_authority"]
    assert scenario.settings.limit["panel_lift"].kind == "gust"
    assert scenario.sources_missing() == ["closing_in"] or scenario.sources_missing() == []


def test_what_nobody_answered_is_a_starting_value_and_counted(usual, tmp_path):
    def counted(path: Path) -> int:
        [told] = [text for text in outline(prepare(load(path))).warnings if "starting values" in text]
        return int(told.split()[0])

    assert usual.read_text(encoding="utf-8").count("starting value, replace") > 15
    assert counts_by_kind(load(usual).assumptions())["invented"] >= counted(usual)
    answered = begun(tmp_path / "tower", gangs="2", cranes="2", hoists="1")
    assert counted(usual) == counted(answered) + 3


def test_a_wind_limit_is_never_a_starting_value(usual):
    sources = {one.key: one.source for one in load(usual).assumptions()}
    of_wind = [key for key in sources if key.startswith("limit.") and "wind_above" in key]

    assert of_wind == ["limit.panel_lift.wind_above_m_s"]
    assert "starting value" not in sources[of_wind[0]]


def test_editors_find_the_schema_beside_the_scenario(usual):
    assert usual.read_text(encoding="utf-8").startswith("#:schema ./scenario.schema.json\n")
    assert (usual.parent / "scenario.schema.json").read_text(encoding="utf-8") == shipped_text()


def test_the_shipped_record_is_labelled_as_another_site(usual):
    weather = load(usual).settings.weather

    assert weather is not None
    assert "not your site" in weather.source
    assert (usual.parent / "weather" / "provenance.md").is_file()


def test_the_wind_limit_its_kind_and_its_authority_must_be_given():
    assert faults_of() == [
        "--wind-limit: missing; allowed: a number from 2 to 30, in m/s (1 mph = 0.447, 1 km/h = 0.278, "
        "1 kt = 0.514 m/s)",
        '--wind-kind: missing; allowed: "gust" or "mean"',
        "--wind-authority: missing; allowed: who set the limit: the maker's plate, a lift plan, a standard, "
        "by name",
    ]


@pytest.mark.parametrize(
    ("key", "text"),
    [
        ("name", ""),
        ("name", "two\nlines"),
        ("start", "1 March"),
        ("start", "2027-02-30"),
        ("levels", "0"),
        ("levels", "3.5"),
        ("levels", "1000"),
        ("height", "3"),
        ("height", "inf"),
        ("zones", "north,north"),
        ("zones", "north,,south"),
        ("panels", "0"),
        ("panels", "151"),
        ("days", "4"),
        ("cycle", "-1"),
        ("gangs", "0"),
        ("cranes", "two"),
        ("hoists", "²"),
        ("wind_limit", "35"),
        ("wind_limit", "nan"),
        ("wind_kind", "gusts"),
        ("wind_authority", "?"),
        ("record", "nowhere.csv"),
        ("utc_offset", "15"),
    ],
)
def test_an_answer_that_cannot_be_used_is_refused_at_its_question(key, text):
    [fault] = faults_of(**{**WIND, key: text})

    assert fault.startswith(f"--{key.replace('_', '-')}: found ")


def random_texts(draw: random.Random) -> dict[str, str]:
    """Some answer to each question, good or bad."""
    levels = draw.choice([1, 2, 3, 5, 9, 40, 40, 151])
    choices = {
        "name": lambda: draw.choice(["Tern House", 'A "quoted" \\ name', "塔", "Ω$name", "-", ""]),
        "start": lambda: draw.choice(["2027-03-01", "2028-02-29", "2024-12-31", "1999-06-30", "soon"]),
        "levels": lambda: str(levels),
        "height": lambda: f"{levels * draw.uniform(2.1, 12.1):.2f}",
        "zones": lambda: ",".join(
            draw.sample(["north", "east", "a b", "Süd", "west", '"q"'], draw.randint(1, 5))
        ),
        "panels": lambda: str(draw.choice([1, 2, 3, 7, 12, 40])),
        "days": lambda: str(draw.choice([4, 5, 5, 5, 6, 6, 7, 7])),
        "cycle": lambda: str(draw.choice([1, 3, 7, 30])),
        "gangs": lambda: str(draw.randint(0, 9)),
        "cranes": lambda: str(draw.randint(1, 5)),
        "hoists": lambda: str(draw.randint(1, 4)),
        "wind_limit": lambda: f"{draw.uniform(1.5, 31):.1f}",
        "wind_kind": lambda: draw.choice(["gust", "mean"]),
        "wind_authority": lambda: draw.choice(["maker's plate", "lift plan", "EN 13000", "?"]),
    }
    return {key: choice() for key, choice in choices.items()}


def runs_or_is_refused(seed: int, folder: Path) -> str:
    draw = random.Random(seed)
    texts = random_texts(draw)
    given = {key: text for key, text in texts.items() if key in WIND or draw.random() < 0.7}
    refused: tuple[Fault, ...] = ()
    try:
        answers, said = taken(given)
    except InputError as error:
        refused = error.faults
    if refused:
        assert all(fault.key.startswith("--") for fault in refused)
        return "refused"
    scenario = load(begin(folder, answers, given=said))
    found = forecast(scenario, trials=1)
    assert np.all(found.detail.finish >= 0)
    return "ran"


@pytest.mark.parametrize("seed", range(12))
def test_random_answers_run_or_are_refused_at_the_question(seed, tmp_path):
    runs_or_is_refused(seed, tmp_path / "tower")


@pytest.mark.slow
def test_many_random_answers_run_or_are_refused_at_the_question(tmp_path):
    ends = [runs_or_is_refused(seed, tmp_path / f"tower{seed}") for seed in range(100, 220)]

    assert ends.count("ran") >= 20
    assert ends.count("refused") >= 20


@pytest.mark.parametrize(
    ("height_m", "law"),
    [(72.0, "en1991"), (200.0, "en1991"), (204.0, "asce7"), (365.0, "asce7"), (420.0, "power")],
)
def test_a_height_above_what_a_code_covers_gets_another_law_and_is_told(tmp_path, height_m, law):
    storeys = str(math.ceil(height_m / 11))
    path = begun(tmp_path / "tower", levels=storeys, height=str(height_m), zones="north", panels="1")

    weather = load(path).settings.weather
    assert weather is not None
    assert weather.height_law == law
    assert (law_told(height_m) is None) is (law == "en1991")
    prepare(load(path))


def test_the_power_law_meets_the_code_where_that_ends():
    exponent = float(height_law(500.0)[2].partition(" = ")[2])
    ends_m = 365.76

    by_power = gust_ratio(ends_m, law="power", exponent=exponent)
    by_code = gust_ratio(ends_m, law="asce7", exposure="B")
    assert by_power == pytest.approx(by_code, rel=0.002)


def test_a_record_of_ones_own_is_read_at_the_question_and_copied(tmp_path):
    own = shipped("weather", "laguardia_2013_hourly.csv")

    path = begun(tmp_path / "tower", record=str(own), utc_offset="-5")

    weather = load(path).settings.weather
    assert weather is not None
    assert weather.knots is True
    assert weather.utc_offset_h == -5
    assert weather.source == "answered when this scenario was begun"
    assert (tmp_path / "tower" / weather.record).read_bytes() == own.read_bytes()


def test_a_broken_record_is_refused_with_its_first_fault(tmp_path):
    broken = tmp_path / "wind.csv"
    broken.write_text("time_lst,wind\n2013-01-01 00:00,4\n", encoding="utf-8")

    [fault] = faults_of(**WIND, record=str(broken))

    assert "a record of whole years without holes; line 1" in fault


def test_nothing_half_written_is_left(tmp_path):
    def fails() -> None:
        with written_whole(tmp_path / "tower") as draft:
            (draft / "levels.csv").write_text("half")
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        fails()
    assert list(tmp_path.iterdir()) == []


def test_a_folder_with_files_in_it_is_left_alone(tmp_path):
    (tmp_path / "mine.txt").write_text("mine")

    with pytest.raises(
        InputError, match="found a folder with files in it; allowed: a new or an empty folder"
    ):
        begun(tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["mine.txt"]


def test_an_empty_folder_is_filled(tmp_path):
    (tmp_path / "tower").mkdir()

    assert begun(tmp_path / "tower").is_file()
    assert [path.name for path in tmp_path.iterdir()] == ["tower"]


def test_the_example_is_the_demo_with_the_same_content(tmp_path):
    path = example(tmp_path / "demo")

    assert load(path).hash == load(shipped("gannet_wharf", "scenario.toml")).hash
    assert load(path).weather_record == tmp_path / "demo" / "weather" / "laguardia_2013_hourly.csv"


def test_without_a_terminal_what_has_no_default_ends_with_exit_2(tmp_path):
    told = subprocess.run(
        [sys.executable, "-c", RUN, "new", "tower"],
        cwd=tmp_path,
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        check=False,
    )

    assert told.returncode == 2
    assert told.stderr.startswith("new: 3 faults\n  --wind-limit: missing; ")
    assert list(tmp_path.iterdir()) == []


def test_a_script_gets_a_scenario_a_check_and_a_first_impression(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)

    run = CliRunner().invoke(
        app, ["new", "tower", *OPTIONS, "--levels", "3", "--panels", "4", "--height", "12"]
    )

    assert run.exit_code == 0, run.output
    assert "tower/scenario.toml: no faults; 3 levels, 4 zones, 48 panels" in run.output.replace("\\", "/")
    assert "are starting values that nobody has stood for" in run.output
    assert "20 trials, for a first impression: Four trials in five finish by " in run.output
    assert "towerpace check tower" in run.output


def test_at_a_terminal_an_answer_that_is_not_taken_is_asked_again(monkeypatch, capsys):
    lines = iter(
        ["", "2027-03-01", "many", "3", "", "", "", "", "", "", "", "", "9", "gust", "the lift plan", ""]
    )
    monkeypatch.setattr(typer, "prompt", lambda _, default=None: next(lines) or default)

    answers, given = command._asked({})

    assert answers["levels"] == 3
    assert answers["start"] == dt.date(2027, 3, 1)
    assert answers["height"] == pytest.approx(10.8)
    assert given == {"start", "levels", *WIND}
    assert "many: not taken; allowed: a whole number from 1 to 150" in capsys.readouterr().err


def test_the_usual_start_is_a_monday_some_weeks_ahead():
    [start] = [question for question in questions(dt.date(2027, 1, 13)) if question.key == "start"]

    assert answer(start, None, {}) == dt.date(2027, 2, 15)


def test_a_question_without_a_default_refuses_silence():
    [limit] = [question for question in questions() if question.key == "wind_limit"]

    with pytest.raises(NotTakenError):
        answer(limit, None, {})
