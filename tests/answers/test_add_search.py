"""What `add` must find: units that help only together, and what it may say of them. Truths by hand."""

from __future__ import annotations

import pytest

from support.line_site import LineTrade, write_line, write_twins
from towerpace.answers.choice.add import Rules, add
from towerpace.answers.choice.additions import WaitedFor, bundles, singles, waited_for
from towerpace.answers.choice.lab import Lab
from towerpace.answers.why.explain import explain
from towerpace.scenario import load
from towerpace.scenario.setups import base_of

DAY = 1440
THREE = {"x": 1, "y": 1, "z": 1}


def advice_on(folder, *, trades, counts, floors, zone_days=1.0, steps=4):
    path = write_line(folder, trades=trades, counts=counts, floors=floors, pace=False)
    rules = Rules(zone_days=zone_days, confidence=0.95, most=20, steps=steps)
    return add(load(path), lab=Lab(1), seed=1, rules=rules)


def test_three_units_of_one_job_are_found_where_one_or_two_gain_nothing(tmp_path):
    """Eight floors of a day each, one by one for want of x, y and z: with two of each, two at a time."""
    found = advice_on(
        tmp_path, trades=[LineTrade(THREE, (DAY, DAY, DAY))], counts=THREE, floors=8, zone_days=2
    )
    first = found.path[0].ranked
    assert first.option.units == THREE
    assert first.days is not None
    assert first.days.mean == -4
    alone = [r for r in found.ranking if r.option.size == 1 and "-1" not in r.option.change]
    assert {r.verdict for r in alone} == {"same in 20 trials"}


def test_a_pair_is_named_before_a_unit_that_gains_less_than_half_of_it(tmp_path):
    """The first trade takes x, the second y and z together and twice as long: it holds the line."""
    trades = [LineTrade({"x": 1}, (DAY, DAY, DAY)), LineTrade({"y": 1, "z": 1}, (2 * DAY,) * 3)]
    found = advice_on(tmp_path, trades=trades, counts=THREE, floors=10, steps=2)
    # 1 + 20 days; y and z twice: 2 floors at a time as they come, a day apart: 12 days. Then x holds it.
    first, second = found.path
    assert first.ranked.option.units == {"y": 1, "z": 1}
    assert first.ranked.days is not None
    assert first.ranked.days.mean == -9
    assert second.p80.value is not None
    assert second.p80.value < 12 * DAY


def test_a_unit_is_named_before_a_pair_that_gains_no_more_for_each(tmp_path):
    """One trade of ten floors: a second x takes five days off; a pair with the idle y no more."""
    trades = [LineTrade({"x": 1}, (DAY, DAY, DAY)), LineTrade({"y": 1}, (60, 60, 60))]
    found = advice_on(tmp_path, trades=trades, counts={"x": 1, "y": 1}, floors=10, steps=1)
    assert found.path[0].ranked.option.units == {"x": 1}
    assert found.path[0].ranked.verdict == "95 % sure it is the best"


def test_as_many_as_one_job_takes_are_tried(tmp_path):
    """A job of two: one more is of no use, two more halve the time."""
    found = advice_on(
        tmp_path, trades=[LineTrade({"x": 2}, (DAY, DAY, DAY))], counts={"x": 2}, floors=6, zone_days=2
    )
    assert found.path[0].ranked.option.units == {"x": 2}
    assert found.path[0].ranked.days is not None
    assert found.path[0].ranked.days.mean == -3


def test_what_a_waiting_job_takes_counts_as_waited_for(tmp_path):
    """The step is short of all three; the ledger names the first."""
    path = write_line(
        tmp_path, trades=[LineTrade(THREE, (DAY, DAY, DAY))], counts=THREE, floors=4, pace=False
    )
    base = base_of(load(path))
    waited = waited_for(base, explain(base.scenario, trials=2, seed=1))
    assert sum(hours > 0 for hours in waited.short_h.values()) == 1
    assert set(waited.resources) == set(THREE)


def test_every_bundle_is_tried_once(tmp_path):
    path = write_line(tmp_path, trades=[LineTrade(THREE, (DAY, DAY, DAY))], counts=THREE, floors=4)
    base = base_of(load(path))
    waited = WaitedFor({"x": 5.0, "y": 1.0, "z": 0.0}, (THREE, {"x": 1, "y": 1}, {"x": 2}), 20)
    assert [option.units for option in singles(base, waited)] == [{"x": 1}, {"y": 1}, {"z": 1}]
    together = [dict(option.units) for option in bundles(base, waited)]
    assert together == [THREE, {"x": 1, "y": 1}, {"x": 1, "z": 1}, {"y": 1, "z": 1}]


def twins(folder, *, seed):
    rules = Rules(zone_days=0.1, most=60, steps=1)
    return add(load(write_twins(folder)), lab=Lab(seed), seed=seed, rules=rules)


def test_twins_are_not_told_apart(tmp_path):
    verdicts = [twins(tmp_path, seed=seed).ranking[0].verdict for seed in range(8)]
    assert sum(verdict == "95 % sure it is the best" for verdict in verdicts) <= 1
    assert verdicts.count("one of the best 2") >= 6


def test_the_gain_of_the_first_named_is_told_from_fresh_draws(tmp_path):
    """The trials of the choice are 0 to 59, the fresh ones 60 to 119: told is the mean of those alone."""
    found = twins(tmp_path, seed=4)
    first = found.path[0].ranked
    finish, _ = Lab(4).results([first.option.setup, found.base], 120)
    fresh = (finish[0] - finish[1])[60:] / DAY
    assert first.days is not None
    assert first.days.mean == pytest.approx(fresh.mean(), abs=1e-9)
    assert first.trials == 60
