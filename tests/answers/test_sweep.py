"""Sweeps: every point is the forecast of its scenario, and a folder is one study's only."""

import shutil
from pathlib import Path

import numpy as np
import pytest

from towerpace.answers.choice.compare import compare
from towerpace.answers.forecast import forecast
from towerpace.answers.sweep.read import load_study, load_trials
from towerpace.answers.sweep.sweep import SweepInterrupted, sweep
from towerpace.faults import InputError
from towerpace.scenario import load
from towerpace.scenario.setups import base_of, changed

SCENARIOS = Path(__file__).parents[2] / "scenarios"
HEAD = """\
[study]
name = "Small"
scenario = "one_trade/scenario.toml"
design = "grid"
trials = 30
seed = 5
keep_trials = true
responses = ["finish.p80", "finish.mean", "ledger.brackets.work", "contract.brackets_done", "handover.2.p50",
             "done.brackets.3.mean", "held.brackets", "criticality.brackets", "beyond_horizon"]
"""
FACTORS = """
[factor.gangs]
key = "resource.bracket_gang.count"
values = [1, 2]
[factor.slip]
labels = ["none", "some"]
replace = [{ "structure.slip_days" = 0 }, { "structure.slip_days.high" = 5 }]
"""
LATER = 10**9


@pytest.fixture
def place(tmp_path):
    shutil.copytree(SCENARIOS / "one_trade", tmp_path / "one_trade")
    return tmp_path


def study(place, text=HEAD + FACTORS, name="study.toml"):
    (place / name).write_text(text, encoding="utf-8")
    return place / name


def values(frame, response):
    return frame[frame["response"] == response].set_index("point")


def test_every_point_is_the_forecast_of_its_scenario(place):
    frame = sweep(study(place), folder=place / "out").frame()
    assert frame["point"].nunique() == 4
    for number, changes in {
        1: {"resource.bracket_gang.count": 1, "structure.slip_days": 0},
        4: {"resource.bracket_gang.count": 2, "structure.slip_days.high": 5},
    }.items():
        own = forecast(load(place / "one_trade" / "scenario.toml", changes), trials=30, seed=5)
        p80 = own.finish_at(0.8)
        found = values(frame, "finish.p80").loc[number]
        assert (found["value"], found["low"]) == (p80.value / 1440, p80.low / 1440)
        row, cause = own.rows.index("brackets"), own.causes.index("work")
        work_h = values(frame, "ledger.brackets.work").loc[number, "value"]
        assert work_h == pytest.approx(own.ledger_h[row, cause], rel=1e-12)
        met = values(frame, "contract.brackets_done").loc[number]
        chance = own.contracts[0].chance
        assert (met["value"], met["low"], met["high"]) == (chance.value, chance.low, chance.high)
        done = own.outcomes.values["done"][:, 0, 2] / 1440
        assert values(frame, "done.brackets.3.mean").loc[number, "value"] == pytest.approx(done.mean())
        assert found["scenario_hash"] == own.scenario.hash[:12]


def test_common_draws_pair_the_trials_of_all_points(place):
    sweep(study(place), folder=place / "out")
    trials = load_trials(place / "out").pivot(index="trial", columns="point", values="finish")
    base = load(place / "one_trade" / "scenario.toml", {"structure.slip_days.high": 5})
    two = changed(base, "two", {"resource.bracket_gang.count": 2})
    against = compare([base_of(base), two], trials=30, seed=5)[1].against
    assert (trials[4] - trials[2]).mean() == pytest.approx(against.days.mean)


def test_independent_draws_have_another_seed_at_every_point(place):
    text = HEAD.replace("seed = 5", 'seed = 5\ndraws = "independent"') + FACTORS
    frame = sweep(study(place, text), folder=place / "out").frame()
    assert frame.groupby("point")["seed"].first().nunique() == 4
    number, seed = 3, int(values(frame, "finish.mean").loc[3, "seed"])
    changes = {"resource.bracket_gang.count": 2, "structure.slip_days": 0}
    own = forecast(load(place / "one_trade" / "scenario.toml", changes), trials=30, seed=seed)
    assert values(frame, "finish.mean").loc[number, "value"] == pytest.approx(own.finish_days[0])


def test_numbers_do_not_depend_on_the_workers(place):
    for workers in (1, 2):
        sweep(study(place), folder=place / f"out{workers}", workers=workers)
    for name in ("study.csv", "study.parquet", "points.csv", "columns.csv"):
        if (place / "out1" / name).exists():
            assert (place / "out1" / name).read_bytes() == (place / "out2" / name).read_bytes()


def test_a_finished_part_is_never_touched_again(place):
    path, out = study(place), place / "out"
    sweep(path, folder=out)
    whole = (out / "study.csv").read_bytes()
    parts = sorted((out / "parts").iterdir())
    parts[1].unlink()
    parts[2].write_bytes(parts[2].read_bytes()[:40])  # cut off, as by a failing disk
    (out / "parts" / ".point-9.csv.1.tmp").write_bytes(b"half")
    before = {part: part.stat().st_mtime_ns for part in (parts[0], parts[3])}
    assert sweep(path, folder=out).resumed == 2
    assert {part: part.stat().st_mtime_ns for part in before} == before
    assert (out / "study.csv").read_bytes() == whole
    assert not list((out / "parts").glob(".*"))


def test_an_interruption_keeps_what_is_done(place):
    path, out = study(place), place / "out"

    def stop_after_two(count, seen=[0]):  # noqa: B006  counts over the calls
        seen[0] += count
        if seen[0] == 2:
            raise KeyboardInterrupt

    with pytest.raises(SweepInterrupted) as stopped:
        sweep(path, folder=out, on_done=stop_after_two)
    assert (stopped.value.done, stopped.value.points) == (2, 4)
    frame = load_study(out)
    assert (frame.attrs["done"], frame["point"].nunique()) == (2, 2)
    assert sweep(path, folder=out).resumed == 2


@pytest.mark.parametrize(
    ("file", "old", "new", "keys"),
    [
        ("study.toml", "trials = 30", "trials = 40", ["study.trials"]),
        ("study.toml", "values = [1, 2]", "values = [1, 3]", ["factor.gangs.values"]),
        ("one_trade/scenario.toml", "count = 1", "count = 4", ["scenario: resource.bracket_gang.count"]),
        (
            "one_trade/levels.csv",
            "2,north,10,1.0,2027-03-15,60",
            "2,north,10,1.0,2027-03-15,61",
            ["file levels.csv"],
        ),
    ],
)
def test_a_changed_study_is_refused_with_what_changed(place, file, old, new, keys):
    path, out = study(place), place / "out"
    sweep(path, folder=out)
    text = (place / file).read_text(encoding="utf-8")
    assert text.count(old) == 1
    (place / file).write_text(text.replace(old, new), encoding="utf-8")
    with pytest.raises(InputError) as caught:
        sweep(path, folder=out)
    assert [fault.key for fault in caught.value.faults] == keys
    fresh = sweep(path, folder=out, fresh=True)
    assert fresh.folder == place / "out-2"


def test_comments_and_white_space_change_nothing(place):
    path, out = study(place), place / "out"
    sweep(path, folder=out)
    path.write_text("# again\n" + path.read_text(encoding="utf-8").replace(" = ", "  =  "), encoding="utf-8")
    scenario = place / "one_trade" / "scenario.toml"
    scenario.write_text("# more\n" + scenario.read_text(encoding="utf-8"), encoding="utf-8")
    assert sweep(path, folder=out).resumed == 4


def test_another_version_is_refused(place, monkeypatch):
    path, out = study(place), place / "out"
    sweep(path, folder=out)
    monkeypatch.setattr("towerpace.answers.sweep.sweep.__version__", "9.9.9")
    with pytest.raises(InputError) as caught:
        sweep(path, folder=out)
    assert [fault.key for fault in caught.value.faults] == ["version"]


def test_faults_of_points_name_the_points_before_anything_runs(place):
    text = HEAD + FACTORS.replace("values = [1, 2]", "values = [1, -2]").replace(
        "slip_days.high", "slip_dyas"
    )
    path = study(place, text)
    with pytest.raises(InputError) as caught:
        sweep(path, folder=place / "out")
    found = {fault.key: fault for fault in caught.value.faults}
    assert set(found) == {
        "point 3 (gangs=-2, slip=none) and 1 more: resource.bracket_gang.count",
        "point 2 (gangs=1, slip=some) and 1 more: structure.slip_dyas",
    }
    gangs, slip = (found[key] for key in sorted(found, reverse=True))
    assert (gangs.file, gangs.line) == (str(path), 11)
    assert slip.nearest == "slip_days"
    assert not (place / "out").exists()


def test_responses_that_the_scenario_does_not_have_are_faults(place):
    text = HEAD.replace(
        '"finish.p80"', '"ledger.brakets.work", "closing_in.2.p80", "handover.9.p50", "cost.mean"'
    )
    with pytest.raises(InputError) as caught:
        sweep(study(place, text + FACTORS), folder=place / "out")
    faults = {fault.found: fault for fault in caught.value.faults}
    assert set(faults) == {'"ledger.brakets.work"', '"closing_in.2.p80"', '"handover.9.p50"', '"cost.mean"'}
    assert faults['"ledger.brakets.work"'].nearest == "brackets"
    assert faults['"ledger.brakets.work"'].key == "every point: study.responses[0]"
    assert faults['"handover.9.p50"'].allowed == "a level from 1 to 3"


def test_trials_go_on_until_the_p80_is_known(place):
    text = HEAD.replace("trials = 30", "p80_within_days = 1.5\nmost_trials = 200") + FACTORS
    frame = values(sweep(study(place, text), folder=place / "out").frame(), "finish.p80")
    assert set(frame["trials"]) <= {50, 80, 120, 180, 200}
    assert frame["trials"].nunique() > 1
    reached = frame[frame["trials"] < 200]
    assert ((reached["high"] - reached["value"]).clip(reached["value"] - reached["low"]) <= 1.5).all()
    changes = {"resource.bracket_gang.count": 2, "structure.slip_days.high": 5}
    n = int(frame.loc[4, "trials"])
    own = forecast(load(place / "one_trade" / "scenario.toml", changes), trials=n, seed=5)
    assert frame.loc[4, "value"] == own.finish_at(0.8).value / 1440


def test_a_study_without_parquet_has_the_same_tables(place, monkeypatch):
    path = study(place)
    sweep(path, folder=place / "out1")
    monkeypatch.setattr("towerpace.answers.sweep.store.has_parquet", lambda: False)
    sweep(path, folder=place / "out2")
    assert not list((place / "out2").rglob("*.parquet"))
    assert (place / "out1" / "study.csv").read_bytes() == (place / "out2" / "study.csv").read_bytes()
    assert load_trials(place / "out1").equals(load_trials(place / "out2"))


@pytest.mark.parametrize("files", ["parts/*.csv", "study.parquet"])
def test_other_tools_read_parts_and_the_combined_table_as_they_are(place, files):
    duckdb = pytest.importorskip("duckdb", reason="an SQL engine that only this test needs")
    pytest.importorskip("pyarrow", reason="without it there is no Parquet")
    frame = sweep(study(place), folder=place / "out").frame()
    question = f"select avg(value) from '{place}/out/{files}' where response = 'finish.mean' and gangs = 2"
    ((mean,),) = duckdb.sql(question).fetchall()
    rows = frame[(frame["response"] == "finish.mean") & (frame["gangs"] == 2)]
    assert mean == pytest.approx(np.mean(rows["value"]))


@pytest.mark.parametrize("length", [-1, -3, 40])
def test_a_part_cut_off_anywhere_is_done_again(place, length):
    path, out = study(place), place / "out"
    sweep(path, folder=out)
    part = out / "parts" / "point-2.csv"
    whole = part.read_bytes()
    part.write_bytes(whole[:length])
    assert sweep(path, folder=out).resumed == (4 if length == -1 else 3)  # only the last line end was missing
    assert length == -1 or part.read_bytes() == whole


def test_a_folder_of_something_else_is_left_alone(place):
    (place / "out").mkdir()
    (place / "out" / "letter.txt").write_text("dear", encoding="utf-8")
    with pytest.raises(InputError, match="a folder with other files"):
        sweep(study(place), folder=place / "out")
