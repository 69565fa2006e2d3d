"""The questions explain, check and weather from Python: the numbers of the command line, names, refusals."""

from __future__ import annotations

import doctest
import json
from importlib import import_module
from pathlib import Path

import numpy as np
import pytest

import towerpace
from support.command_line import towerpace as command
from support.short_tower import TOO_SHORT, write_short_tower
from towerpace.answers.cautions import LIMITS_CAUTION
from towerpace.faults import InputError

SCENARIOS = Path(__file__).parents[2] / "scenarios"
DEMO = SCENARIOS / "gannet_wharf" / "scenario.toml"


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    return write_short_tower(tmp_path_factory.mktemp("tower"), levels=3)


@pytest.fixture(scope="module")
def why(path):
    return towerpace.explain(towerpace.load(path), trials=6, seed=3, trial=1)


@pytest.fixture(scope="module")
def checked():
    """The demo checked, with all its set-ups: seconds."""
    return towerpace.check(towerpace.load(DEMO))


@pytest.fixture(scope="module")
def blown():
    """Two years of the demo's weather."""
    return towerpace.weather(towerpace.load(DEMO), trials=2)


def printed(*arguments):
    run = command(*arguments, "--json")
    assert run.returncode == 0, run.stderr
    return json.loads(run.stdout)


def test_the_command_line_prints_what_python_returns(path, why):
    told = printed("explain", path, "--trials", 6, "--seed", 3, "--trial", 1, "--workers", 1)
    assert told == why.to_json()
    assert printed("check", path) == towerpace.check(towerpace.load(path)).to_json()


def test_a_large_plan_is_checked_on_the_compiled_engine_with_the_same_numbers(path, monkeypatch):
    reference = towerpace.check(towerpace.load(path)).to_json()
    monkeypatch.setattr("towerpace.answers.outline.COMPILED_FROM", 1)
    asked = []
    monkeypatch.setattr(
        "towerpace.answers.outline.run",
        lambda *plan, engine: (asked.append(engine), towerpace.run(*plan, engine=engine))[1],
    )
    assert towerpace.check(towerpace.load(path)).to_json() == reference
    assert set(asked) == {"fastest"}


def test_waits_of_things_add_up_to_the_ledger(why):
    """Sums by thing, from the steps, and sums by row, from the ledger: the same hours."""
    waiting, detail = why.frame("waiting"), why.detail
    causes = {f"waiting for {name}": name for name in waiting["awaited"]} | {
        f"after {n}": n for n in waiting["awaited"]
    }
    for row, name in enumerate(detail.who):
        own = waiting[waiting["trade"] == name]
        hours = sum(detail.ledger_h[row, k] for k, cause in enumerate(detail.for_) if cause in causes)
        assert own["mean_h"].sum() == pytest.approx(hours)
    np.testing.assert_allclose(waiting["each_h"] * waiting["things"], waiting["mean_h"])


def test_working_days_of_the_worked_scenario_are_its_mean_shifts():
    """One trial without chance; minutes by cause, and shifts, stand in the scenario's comment."""
    shift_min = (5 * 420 + 20 * 510) / 25  # five Saturdays, twenty other days
    why = towerpace.explain(towerpace.load(SCENARIOS / "by_hand" / "scenario.toml"), trials=1)
    held = why.frame("held").set_index(["trade", "cause"])["working_days"]
    assert held["panels", "work"] == pytest.approx(300 / shift_min, abs=1e-5)
    assert held["seal", "work"] == pytest.approx(240 / shift_min, abs=1e-5)
    assert np.isnan(held["panels", "outside shift"])
    panels = why.frame("trades").set_index("trade").loc["panels"]
    assert panels["working_days"] == pytest.approx((100 + 300 + 30 + 30) / shift_min, abs=1e-5)
    assert panels["closed_days"] == pytest.approx(2460 / 1440)


def test_work_that_runs_day_and_night_is_no_working_day():
    """The goods lift of the demo is fitted by others, day and night: an activity without a calendar."""
    why = towerpace.explain(towerpace.load(DEMO), trials=1, trial=0)
    stretch = why.frame("stretches").set_index("name").loc["goods_lift"]
    assert stretch["working_days"] == 0
    assert stretch["finished_min"] - stretch["since_min"] > 30 * 1440


@pytest.mark.parametrize("number", [{"trial": -1}, {"trials": 0}, {"workers": 0}])
def test_numbers_out_of_range_are_refused(path, number):
    with pytest.raises(InputError, match=next(iter(number))):
        towerpace.explain(towerpace.load(path), **number)


def test_an_explanation_of_trials_that_do_not_finish_says_so(tmp_path):
    late = towerpace.explain(towerpace.load(write_short_tower(tmp_path, replace=TOO_SHORT)), trials=3)
    assert "No trial finishes inside the horizon" in repr(late)
    assert late.frame().empty
    assert late.frame("unfinished")["steps_left"].gt(0).all()


def test_check_counts_what_the_scenario_has(checked):
    sizes = dict(zip(*checked.frame("size").to_numpy().T, strict=True))
    assert (sizes["levels"], sizes["zones"]) == (34, 4)
    resources = checked.frame("resources").set_index("resource")["count"]
    assert resources["hoist"] == 2
    assert checked.frame("planned")["finish"].is_monotonic_increasing
    assert checked.answer.cautions[-1] == LIMITS_CAUTION


def test_the_weather_of_more_years_and_bands_keeps_the_record():
    one, two = (towerpace.weather(towerpace.load(DEMO), trials=2, bands=bands) for bands in (1, 2))
    assert len(two.frame()) == 2 * len(one.frame()) == 2 * 12 * one.frame()["operation"].nunique()
    hours = one.frame()
    assert (hours["generated_p10_h"] <= hours["generated_p90_h"]).all()
    assert (hours["record_h"] <= hours["shift_h"] + 1e-9).all()
    with pytest.raises(InputError, match="bands"):
        towerpace.weather(towerpace.load(DEMO), bands=0)
    with pytest.raises(InputError, match=r"weather: found missing|weather: missing"):
        towerpace.weather(towerpace.load(SCENARIOS / "one_trade" / "scenario.toml"))


def test_no_line_of_check_and_weather_is_wider_than_eighty_columns(checked, blown, monkeypatch):
    """Of the commands, which find these answers already given."""
    monkeypatch.setattr("towerpace.face.check.check", lambda _, **__: checked)
    monkeypatch.setattr("towerpace.face.weather.weather", lambda _, **__: blown)
    for question in (("check",), ("weather", "--trials", 2)):
        run = command(question[0], DEMO, *question[1:])
        assert run.returncode == 0, run.stderr
        assert max(map(len, run.stdout.splitlines())) <= 80
        assert "never permission to lift" in run.stdout


def test_answers_of_check_and_weather_are_saved_and_read_back(checked, blown, tmp_path):
    from towerpace.render.saved.answer_file import load_saved

    for result in (checked, blown):
        saved = load_saved(result.save(tmp_path / result.answer.question))
        assert [t.rows for t in saved.answer.tables] == [tuple(t.rows) for t in result.answer.tables] or [
            list(t.rows) for t in saved.answer.tables
        ] == [list(t.rows) for t in result.answer.tables]


@pytest.mark.parametrize("name", ["explain", "check", "weather"])
def test_examples_in_the_docstrings_hold(name, monkeypatch):
    monkeypatch.chdir(SCENARIOS.parent)
    tested = doctest.testmod(import_module(f"towerpace.face.{name}"))
    assert tested.failed == 0
    assert tested.attempted > 1


@pytest.mark.parametrize("name", ["answers.why.pace", "answers.why.stretches", "answers.ledger.book"])
def test_examples_of_the_answers_hold(name):
    tested = doctest.testmod(import_module(f"towerpace.{name}"))
    assert (tested.failed, tested.attempted > 0) == (0, True)
