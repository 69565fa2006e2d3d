"""Pins: a trial seen up to a data date and run on from there gives the rest of its own diary."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from support.dice import Dice, on_random
from support.pinned import ENGINES, forgetful, pins_of, unlike_each_other, unlike_itself, wild_record
from support.random_plans import random_case
from towerpace import Plan, Pool, Step, Window, build, load, run
from towerpace.draws import as_planned
from towerpace.plan.pins import Pins, resumed

DEMO = Path(__file__).parents[2] / "scenarios" / "gannet_wharf" / "scenario.toml"


def seen(began, ended, left, *, at):
    return Pins(*(np.array(x, dtype=np.int64) for x in (began, ended, left)), data_date_min=at)


def run_on(plan, draw, pins, *, engine):
    return run(resumed(plan, pins.data_date_min), replace(draw, pins=pins), engine=engine)


def _cut(dice: Dice):
    plan, draw = random_case(dice)
    diary = run(plan, draw, engine="reference")
    last = int(max(diary.finished.max(), 2))
    return diary, draw, dice.whole(1, last), dice


@on_random(_cut, cases=400)
def test_a_trial_run_on_from_a_data_date_is_the_same_trial(case):
    assert unlike_itself(*case) == []


@on_random(wild_record, cases=400)
def test_engines_and_oracle_agree_where_the_site_broke_pools_and_windows(case):
    plan, draw = case
    if draw.pins.pinned.any():
        assert unlike_each_other(plan, draw) == []


@pytest.mark.slow
@pytest.mark.parametrize("day", [74, 200, 336])
def test_the_demo_runs_on_as_it_was(day):
    site = build(load(DEMO))
    draw = site.draw(3)
    diary = run(site.plan, draw)
    pins = pins_of(diary, draw, day * 1440 + 600)
    told = forgetful(draw, pins, Dice(day))
    for engine in ENGINES:
        again = run(resumed(site.plan, pins.data_date_min), told, engine=engine)
        assert np.array_equal(again.started, diary.started)
        assert np.array_equal(again.finished, diary.finished)


@pytest.mark.parametrize("engine", ENGINES)
def test_who_came_first_stays_first(engine):
    """One gang, first come: what came at minute 3 is served before what came at 7, at the data date too."""
    gang = [Pool("gang", 1, order="first come")]
    steps = [
        Step("a", work=20, needs={"gang": 1}),
        Step("early number", work=5, needs={"gang": 1}, date=7),
        Step("late number", work=5, needs={"gang": 1}, date=3),
    ]
    plan = Plan(steps, pools=gang)
    again = run_on(
        plan, as_planned(plan), seen([0, -1, -1], [-1, -1, -1], [10, -1, -1], at=10), engine=engine
    )
    assert again.started.tolist() == [0, 25, 20]


@pytest.mark.parametrize("engine", ENGINES)
def test_more_cranes_were_there_than_are_stated(engine):
    """Two of one crane: the second is lent, and nobody starts before both are back."""
    crane = [Pool("crane", 1, at=["x"], moves={("x", "y"): 3, ("y", "x"): 3})]
    steps = [
        Step(name, work=10, needs={"crane": 1}, place=place) for name, place in zip("abc", "xyx", strict=True)
    ]
    plan = Plan(steps, pools=crane)
    pins = seen([0, 1, -1], [-1, -1, -1], [6, 2, -1], at=5)
    again = run_on(plan, as_planned(plan), pins, engine=engine)
    # a ends at 11, b at 7; c takes the crane that a leaves at x, without a way.
    assert again.started.tolist() == [0, 1, 11]
    assert again.finished.tolist() == [11, 7, 21]


@pytest.mark.parametrize("engine", ENGINES)
def test_what_is_left_passes_in_the_hours_of_work(engine):
    plan = Plan(
        [Step("seal", work=30, window="site", mode="work"), Step("joint", work=5, after=["seal"])],
        windows=[Window("site", [(0, 10), (40, 60)])],
    )
    again = run_on(plan, as_planned(plan), seen([2, -1], [-1, -1], [12, -1], at=20), engine=engine)
    assert again.finished.tolist() == [52, 57]


@pytest.mark.parametrize(
    ("pins", "why"),
    [
        (seen([0, 5, -1], [7, -1, -1], [-1, 3, -1], at=10), "'b' began before 'a' had ended"),
        (seen([-1, 5, -1], [-1, 6, -1], [-1, -1, -1], at=10), "'b' began before 'a' had ended"),
        (seen([0, -1, -1], [12, -1, -1], [-1, -1, -1], at=10), "'a' must end between begin and data date"),
        (seen([10, -1, -1], [-1, -1, -1], [4, -1, -1], at=10), "'a' must begin before the data date, 10"),
        (seen([3, -1, -1], [5, -1, -1], [4, -1, -1], at=10), "'a' needs an end or work left, one of the two"),
        (
            seen([-1, -1, -1], [-1, 4, -1], [-1, -1, -1], at=10),
            "'b' has ended or has work left without a begin",
        ),
        (seen([-1, -1, 2], [-1, -1, 4], [-1, -1, -1], at=10), "'c' is left out and cannot be pinned"),
        (seen([0, -1], [4, -1], [-1, -1], at=10), r"began has shape \(2,\), the plan needs \(3,\)"),
    ],
)
def test_what_no_site_can_have_shown_is_refused(pins, why):
    plan = Plan([Step("a", work=4), Step("b", work=4, after=["a"]), Step("c", work=4, skip="never")])
    draw = replace(as_planned(plan), skip=np.array([False, False, True]), pins=pins)
    with pytest.raises(ValueError, match=why):
        run(resumed(plan, 10), draw)
