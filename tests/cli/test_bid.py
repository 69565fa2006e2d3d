"""The bid as a user asks for it: the sentence, the object, the folder, and what is refused."""

import json
from pathlib import Path

import pytest

from support.command_line import towerpace
from towerpace.answers.bid.saved import load_bid
from towerpace.faults import InputError
from towerpace.render.saved.forecast import load_saved

SCENARIOS = Path(__file__).parents[2] / "scenarios"
ONE_TRADE = SCENARIOS / "one_trade" / "scenario.toml"
BY_HAND = SCENARIOS / "by_hand" / "scenario.toml"
SHORT = ("--workers", 1, "--swing-trials", 3, "--years", 5)


def bid(*arguments):
    return towerpace("bid", *arguments)


@pytest.fixture(scope="module")
def answered(tmp_path_factory):
    folder = tmp_path_factory.mktemp("bid") / "results"
    run = bid(ONE_TRADE, "--days", 23, "--trials", 60, *SHORT, "--json", "--out", folder)
    assert run.returncode == 0, run.stderr
    return run, json.loads(run.stdout), folder


def test_the_object_has_every_part(answered):
    _, data, _ = answered
    assert {
        "stated",
        "planned",
        "needed",
        "contract",
        "joint",
        "damages",
        "contingency",
        "drivers",
        "swings",
        "convergence",
        "allowance",
        "screening",
        "cautions",
        "forecast",
        "methods",
    } <= set(data)
    assert [row["confidence"] for row in data["needed"]] == [k / 100 for k in range(50, 100, 5)]
    days = [row["working_days"] for row in data["needed"]]
    assert days == sorted(days)
    assert data["allowance"] is None  # no weather there
    assert data["trials_played"] == 60 * 2 + 60 * 2 * 2 + 3 * 7


def test_the_chance_of_a_duration_and_the_duration_of_a_chance_agree(answered):
    """23 working days end on Wednesday 31 March; whoever needs no more is inside them."""
    _, data, _ = answered
    stated = data["stated"]
    assert (stated["working_days"], stated["date"]) == (23, "2027-03-31")
    assert stated["low"] < stated["chance"] < stated["high"]
    for row in data["needed"]:
        assert (row["working_days"] <= 23) == (row["confidence"] <= stated["chance"] + 1e-12)
    assert data["forecast"]["contract"][0]["chance"] >= stated["chance"]


def test_contingency_is_counted_from_the_plan(answered):
    _, data, _ = answered
    found = data["contingency"]
    off = sum(row["off_days"] for row in found["sources"])
    assert found["total_days"] == pytest.approx(off + found["remainder_off_days"], abs=1e-5)
    (need,) = [row for row in data["needed"] if row["confidence"] == 0.8]
    assert need["contingency_days"] == found["total_days"]
    assert data["planned"]["counted_from"] == "no_weather"


def test_the_cost_is_said_before_it_is_paid(answered):
    run, data, _ = answered
    assert run.stderr.startswith(f"{data['trials_played']} trials to play: forecast 60, second seed 60")


def test_the_folder_is_that_of_a_forecast_with_the_bid_in_it(answered):
    _, data, folder = answered
    saved = load_bid(folder)
    assert saved.data == data
    assert len(saved.tables["needed"]) == 10
    assert set(saved.tables["sources"]["source"]) == {"trade pace and item minutes", "structure"}
    assert saved.tables["allowance"].empty
    assert "bid.json" in load_saved(folder).manifest.files
    again = bid(ONE_TRADE, "--trials", 12, "--no-sources", "--no-second-seed", "--swing-trials", 0, "--json",
                "--workers", 1, "--out", folder)  # fmt: skip
    assert again.returncode == 0, again.stderr
    short = load_bid(folder)
    assert (short.data["stated"], short.data["contingency"]) == (None, None)
    assert short.tables["sources"].empty


def test_a_missing_or_foreign_bid_is_refused(tmp_path):
    with pytest.raises(InputError, match="missing file"):
        load_bid(tmp_path)
    (tmp_path / "bid.json").write_text('{"format": 99}', encoding="utf-8")
    with pytest.raises(InputError, match="another format"):
        load_bid(tmp_path)
    (tmp_path / "bid.json").write_text("{", encoding="utf-8")
    with pytest.raises(InputError, match="no JSON"):
        load_bid(tmp_path)


def test_a_person_reads_the_answer_in_100_columns():
    run = bid(BY_HAND, "--date", "2027-05-17", "--trials", 30, *SHORT, "--allowance")
    assert run.returncode == 0, run.stderr
    # Every duration is certain there and the wind is replayed: the date holds in every trial.
    assert "are kept in 100.0 % of the trials" in run.stdout
    assert "with the weather as recorded" in " ".join(run.stdout.split())
    assert "invented, worked by hand" in run.stdout
    assert "2027-05" in run.stdout
    assert max(map(len, run.stdout.splitlines())) <= 100


def test_a_confidence_is_answered_with_a_duration():
    run = bid(ONE_TRADE, "--confidence", 0.93, "--trials", 60, "--workers", 1, "--swing-trials", 0,
              "--no-sources", "--no-second-seed")  # fmt: skip
    assert "93 % confidence needs until" in run.stdout
    assert "P93" in run.stdout


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--days", 20, "--confidence", 0.8), "found 2 questions; allowed: one of days, date and confidence"),
        (("--days", 4000), "days: found 4000; allowed: 1 to"),
        (("--date", "2026-01-01"), "date: found 2026-01-01; allowed: 2027-03-01 to 2027-06-28"),
        (("--sobol", 100), "sobol: found 100; allowed: a power of 2"),
        (("--morris", 1), "morris: found 1; allowed: 2 trajectories or more"),
        (("--morris", 2, "--vary", "trade.brackets.pace"), "allowed: KEY=LOW:HIGH"),
        (("--morris", 2, "--vary", "trade.brackets.paec=1:2"), "trade.brackets.paec"),
        (("--morris", 2, "--vary", "trade.brackets.pace=-1:2"), "trade.brackets.pace"),
    ],
)
def test_what_cannot_be_asked_exits_2_and_says_why(arguments, words):
    run = bid(ONE_TRADE, *arguments, "--trials", 10)
    assert run.returncode == 2
    assert words in run.stderr


def test_screening_finds_what_matters_and_says_its_cost():
    """Twelve brackets a front and the structure already there: how many gangs there are matters nothing."""
    run = bid(
        ONE_TRADE, "--trials", 12, "--workers", 1, "--no-sources", "--no-second-seed", "--swing-trials", 0,
        "--point-trials", 2, "--morris", 3, "--sobol", 4, "--json",
        "--vary", "trade.brackets.unit_min=8:60", "--vary", "resource.bracket_gang.count=4:6",
    )  # fmt: skip
    assert run.returncode == 0, run.stderr
    assert "18 trials to play: Morris, 9 points of 2 trials over 2 numbers" in run.stderr
    assert "32 trials to play: Sobol, 16 points of 2 trials over 2 numbers" in run.stderr
    morris, sobol = json.loads(run.stdout)["screening"]
    assert [n["name"] for n in morris["numbers"]] == [
        "trade.brackets.unit_min",
        "resource.bracket_gang.count",
    ]
    assert morris["numbers"][0]["mu_star"] > 1
    assert morris["numbers"][1]["mu_star"] == 0
    assert sobol["numbers"][0]["total"] > 10 * abs(sobol["numbers"][1]["total"])
