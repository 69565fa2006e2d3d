"""The split and the ledger against a second opinion written with numpy and Python: the same arrays."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from support.dice import on_random
from support.plain_book import PlainLedger, clocks
from support.plain_waits import PlainTimekeeper
from support.random_plans import random_case, random_case_with_lags
from support.weather_cases import random_case_in_weather
from towerpace import Give, Plan, Pool, Step, Window
from towerpace import run as fastest
from towerpace.answers.ledger.book import Ledger
from towerpace.answers.ledger.waits import Timekeeper
from towerpace.climate.hours import Hours
from towerpace.climate.limits import HourLimit
from towerpace.draws import Chooser, Draw, as_planned
from towerpace.engine.openings import Openings
from towerpace.engine.reference import run
from towerpace.plan.site.tower import build
from towerpace.plan.site.weather import weather_of
from towerpace.scenario.load import load

DEMO = Path(__file__).parents[2] / "scenarios" / "gannet_wharf" / "scenario.toml"
PARTS = ("waiting", "doing", "from_", "to", "caught", "past_shift")


def assert_split_alike(plan, draw):
    openings = Openings(plan.windows, hours=draw.hours, horizon=plan.horizon)
    diary = run(plan, draw, openings=openings)
    labels = [f"no {name}" for name in plan.pools.names]
    keeper, plain = Timekeeper(plan, labels), PlainTimekeeper(plan, labels)
    assert keeper.causes == plain.causes
    expected, actual = plain.split(draw, openings, diary), keeper.split(draw, diary)
    assert_same_minutes(expected, actual)
    assert_same_waits(plain, keeper, draw, diary, openings)
    return actual


def assert_same_waits(plain, keeper, draw, diary, openings):
    """Of the steps that started: where the minutes between ready and started went, if no pool held them."""
    steps = np.flatnonzero(diary.started >= 0)
    since, start = (stamps[steps].astype(np.int64) for stamps in (diary.ready, diary.started))
    expected = plain.before_start(openings, steps=steps, since=since, begun=start)
    actual = keeper.before_start(draw, diary, steps=steps, since=since, start=start)
    assert np.array_equal(actual, expected)


def assert_same_minutes(expected, actual):
    for part in PARTS:
        wanted, given_back = getattr(expected, part), getattr(actual, part)
        assert given_back.dtype == wanted.dtype
        assert np.array_equal(given_back, wanted), (part, np.argwhere(given_back != wanted))


@on_random(random_case, cases=600)
def test_random_plans_are_split_alike(case):
    assert_split_alike(*case)


@on_random(random_case_with_lags, cases=300)
def test_random_plans_with_lags_are_split_alike(case):
    assert_split_alike(*case)


@on_random(random_case_in_weather, cases=600)
def test_random_plans_in_random_weather_are_split_alike(case):
    assert_split_alike(*case)


def test_a_limit_named_earlier_takes_the_blame_over_when_it_begins_later():
    # Rain stops hours 0 and 1, wind hour 1 alone: wind is named first, so hour 1 is wind's.
    limits = [
        HourLimit("gust", "gust", above=10.0, below=None, ratio=1.0, restart_min=0, cause="wind"),
        HourLimit("rain", "rain", above=0.5, below=None, ratio=1.0, restart_min=15, cause="rain"),
    ]
    window = Window("day", [(0, 600)], limits=limits)
    plan = Plan([Step("lift", work=30, window="day", mode="start")], windows=[window])
    hours = Hours(np.array([5.0, 12, 5]), np.array([5.0, 12, 5]), rain_mm=np.array([1.0, 1, 0]))
    minutes = assert_split_alike(plan, as_planned(plan, hours=hours))
    booked = dict(zip(minutes.causes, minutes.waiting[:, 0].tolist(), strict=True))
    assert {cause: k for cause, k in booked.items() if k} == {"rain": 60 + 15, "wind": 60}


def test_a_lift_that_is_caught_by_wind_is_marked_in_both():
    limit = HourLimit("gust", "gust", above=10.0, below=None, ratio=1.0, restart_min=0, cause="wind")
    window = Window("day", [(0, 600)], limits=[limit])
    steps = [
        Step(name, work=30, window="day", mode="start", date=date) for name, date in (("a", 20), ("b", 40))
    ]
    plan = Plan(steps, windows=[window])
    hours = Hours(np.array([5.0, 12, 5]), np.array([5.0, 12, 5]))
    assert assert_split_alike(plan, as_planned(plan, hours=hours)).caught.tolist() == [False, True]


def test_a_lift_that_is_caught_after_its_shift_is_marked_too():
    """The shift ends at 60, when the wind rises: the first lift ends at 55, the second runs on to 70."""
    limit = HourLimit("gust", "gust", above=10.0, below=None, ratio=1.0, restart_min=0, cause="wind")
    window = Window("day", [(0, 60), (180, 600)], limits=[limit])
    steps = [
        Step(name, work=30, expected=20, window="day", mode="start", date=date)
        for name, date in (("a", 25), ("b", 40), ("c", 570))
    ]
    plan = Plan(steps, windows=[window])
    hours = Hours(np.array([5.0, 12, 5]), np.array([5.0, 12, 5]))
    minutes = assert_split_alike(plan, as_planned(plan, hours=hours))
    assert minutes.caught.tolist() == [False, True, False]
    assert minutes.past_shift.tolist() == [False, True, False]


def test_each_minute_of_a_tangled_wait_goes_to_the_line_or_the_first_short_pool():
    pools = [Pool("a", 1, line="gate"), Pool("b", 0, line="gate")]
    steps = [
        Step("busy", work=30, needs={"a": 1}),
        Step("head", work=5, needs={"a": 1}, rank=1, date=1),
        Step("tangled", work=5, needs={"a": 1, "b": 1}, rank=2, date=2),
        Step("brings", date=50, gives=[Give("b", 1)]),
    ]
    plan = Plan(steps, pools=pools)
    minutes = assert_split_alike(plan, as_planned(plan))
    booked = dict(zip(minutes.causes, minutes.waiting[:, 2].tolist(), strict=True))
    assert {cause: k for cause, k in booked.items() if k} == {
        "behind in line": 28,
        "no a": 5,
        "no b": 15,
    }


def test_what_a_skipped_step_would_have_brought_frees_nobody():
    steps = [
        Step("tangled", work=5, needs={"a": 1, "b": 1}),
        Step("before", work=10),
        Step("brings nothing", after=["before"], gives=[Give("b", 1)], skip="left out"),
        Step("brings", date=50, gives=[Give("b", 1)]),
    ]
    plan = Plan(steps, pools=[Pool("a", 1), Pool("b", 0)])
    planned = as_planned(plan)
    draw = Draw(planned.work, planned.date, np.array([False, False, True, False]))
    minutes = assert_split_alike(plan, draw)
    assert minutes.waiting[minutes.causes.index("no b"), 0] == 50


@pytest.fixture(scope="module")
def demo():
    scenario = load(DEMO)
    tower = build(scenario)
    return tower, Chooser(tower.plan, tower.laws, weather_of(scenario))


def test_the_ledger_of_the_demo_is_the_same(demo):
    tower, chooser = demo
    plain, ledger = PlainLedger(tower), Ledger(tower)
    for trial in range(10):
        draw = chooser.draw(7, trial)
        diary = fastest(tower.plan, draw)
        (expected, expected_minutes), (book, minutes) = (x.of(draw, diary) for x in (plain, ledger))
        assert book.dtype == expected.dtype
        assert np.array_equal(book, expected)
        assert_same_minutes(expected_minutes, minutes)
        assert np.array_equal(book.sum(axis=2), clocks(ledger, diary))
        booked, *lifts = ledger.booked(draw, diary)
        assert np.array_equal(booked, expected)
        assert lifts == list(plain.booked(draw, diary)[1:])
        assert min(lifts) > 0


def test_a_trial_cut_off_by_the_horizon_has_the_same_ledger(demo):
    tower, chooser = demo
    short = replace(tower, plan=tower.plan.changed(horizon=300 * 1440))
    draw = replace(chooser, plan=short.plan).draw(7, 0)
    diary = fastest(short.plan, draw)
    assert diary.finish is None
    expected, book = (x.of(draw, diary)[0] for x in (PlainLedger(short), Ledger(short)))
    assert np.array_equal(book, expected)


def test_the_ledger_is_the_same_without_the_compiler():
    """Uncompiled, numpy's numbers of 32 bits overflow where compiled ones grow: a shift goes wrong."""
    words = "tangled or skipped or takes_the_blame or caught"
    command = [sys.executable, "-m", "pytest", "-q", "-n0", "-p", "no:cacheprovider", "-k", words, __file__]
    done = subprocess.run(
        command, env=os.environ | {"NUMBA_DISABLE_JIT": "1"}, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout
    assert "5 passed" in done.stdout
