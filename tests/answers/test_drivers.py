"""Drivers: what is planted is found first, what is constant or does nothing is said to be."""

from pathlib import Path

import numpy as np
import pytest
from scipy.stats import spearmanr

from support.panel_site import row, site
from support.small_site import made
from towerpace.answers.bid.drivers import (
    CONSTANT,
    DRIVES,
    NONE_SEEN,
    drivers,
    rank_regression,
    share_if_known,
    spearman,
)
from towerpace.answers.bid.measure import BidMeasure
from towerpace.answers.cost import cost_book
from towerpace.answers.drawn_inputs import Input, drawn_inputs, probes_of
from towerpace.answers.estimates import LATER
from towerpace.answers.measures import ForecastMeasure
from towerpace.answers.prepare import prepare
from towerpace.scenario import load
from towerpace.trials.job import Job
from towerpace.trials.run import run_trials

DAY = 1440
BY_HAND = Path(__file__).parents[2] / "scenarios" / "by_hand" / "scenario.toml"
PLANTED = """
[trade.boards]
kind = "gang"
column = "flat"
unit_min = { low = 8, likely = 10, high = 12, shape = "pert" }
pace = { p10 = 0.5, p50 = 1.0, p90 = 2.0 }
needs = { tower_crane = 1 }
calendar = "site"
after = [{ on = "brackets" }]
"""
ROWS = "level,zone,height_m,difficulty,handover,brackets,flat,curved\n" + "".join(
    f"{k},north,{4 * k},1.0,2027-03-01,10,60,3\n" for k in (1, 2, 3)
)


def found_of(ready, trials, seed=1):
    until = 30 * DAY
    costs = cost_book(ready.scenario.settings, tower=ready.tower, days=ready.days)
    measure = BidMeasure(ForecastMeasure(ready.tower, costs), ready, until)
    values = run_trials(Job(ready.chooser, measure, seed), trials=trials).outcomes.values
    inputs = drawn_inputs(ready, values["inputs"], seed=seed, until=until)
    return inputs, values["finish"]


def test_a_planted_driver_is_found_first(tmp_path):
    """Boards take three times as long as anything else, at a pace that may halve or double."""
    ready = made(tmp_path, PLANTED, levels=ROWS)
    inputs, finish = found_of(ready, 80)
    found = drivers(inputs, finish)

    first = found.drivers[0]
    assert (first.name, first.verdict) == ("pace of boards", DRIVES)
    assert first.rank.low > 0.8
    assert first.known.value > 0.5
    by_name = {d.name: d for d in found.drivers}
    for name in ("pace of brackets", "slip of the top level"):
        assert (by_name[name].verdict, by_name[name].rank) == (CONSTANT, None)
    assert found.drivers[-1].verdict == CONSTANT


def test_certain_minutes_are_no_driver(tmp_path):
    """Ten certain minutes at a drawn pace: their rounding goes with the pace and is not credited."""
    certain = PLANTED.replace('{ low = 8, likely = 10, high = 12, shape = "pert" }', "10")
    names = {one.name for one in found_of(made(tmp_path, certain, levels=ROWS), 10)[0]}
    assert "pace of boards" in names
    assert "item minutes of boards" not in names


def test_an_input_that_moves_nothing_shows_no_effect(tmp_path):
    """Sealing has a wide pace, but a crown of 50 certain days ends far later."""
    ready = made(tmp_path, PLANTED, "[activity.crown]\ndays = 50\n", levels=ROWS)
    inputs, finish = found_of(ready, 30)
    assert np.ptp(finish) == 0
    found = drivers(inputs, finish)
    assert {d.verdict for d in found.drivers} == {CONSTANT, NONE_SEEN}
    assert next(d for d in found.drivers if d.name == "pace of boards").verdict == NONE_SEEN
    assert found.sd == 0


def test_inputs_read_off_a_draw_are_what_was_drawn(tmp_path):
    """Certain numbers: each is late by 6 h, each fit panel of six is lost, the mock-up fails twice."""
    changes = {
        "delivery__late_chance": 1,
        "delivery__late_h": 6,
        "structure__slip_days": 2,
        "family__flat__reject_chance": 1,
        "family__flat__remake_days": 5,
        "mock_up": {"try_days": 2, "fix_days": 2, "pass_chance": 0, "most_tries": 3},
        "risk": [{"name": "strike", "chance": 1, "on": "seal", "delay_days": 3}],
        "trade__panels__pace": 1.25,
        "resource__hoist__breakdown": {"every_h": 99, "repair_h": 4},
    }
    ready = site(tmp_path, [row(1, flat=6), row(2, flat=3, day=2)], **changes)
    draw, until = ready.chooser.draw(1, 0), 30 * DAY
    read = np.array([[probe.read(draw) for probe in probes_of(ready, until=until)]])
    found = {one.name: one.values[0] for one in drawn_inputs(ready, read, seed=1, until=until)}

    assert found["late trucks"] == 2
    assert found["hours of late trucks, summed"] == 12
    assert found["slip of the top level"] == 4
    assert found["lost panels of panels"] == 9
    assert found["lost panels of panels: longest wait"] == 5
    assert found["repeats of the mock-up"] == 2
    assert found["risk strike"] == 1
    assert found["pace of panels"] == 1.25
    assert "item minutes of panels" not in found  # certain minutes are no chance
    # fails after 99, 202, 305, ... h; 30 days are 720 h
    assert found["hours of hoist in repair"] == 7 * 4


def test_hours_lost_to_weather_are_those_worked_by_hand():
    """Saturday 15 May: closed by wind from 12:00, with the wait for a restart to 13:30; open again then."""
    ready = prepare(load(BY_HAND))
    (lost,) = [p for p in probes_of(ready, until=DAY) if p.source == "weather"]
    assert lost.read(ready.chooser.draw(1, 0)) == 90


def test_rank_correlation_agrees_with_scipy_with_ties():
    rng = np.random.Generator(np.random.PCG64(3))
    x = rng.integers(0, 6, 60).astype(float)
    y = x + rng.normal(0, 3, 60).round()
    found = spearman(x, y)
    assert found.value == pytest.approx(spearmanr(x, y).statistic, abs=1e-12)
    assert found.low < found.value < found.high


def test_perfect_order_has_no_interval_and_too_little_is_refused():
    found = spearman(np.arange(20.0), np.arange(20.0) ** 3)
    assert (found.low, found.value, found.high) == pytest.approx((1, 1, 1))
    with pytest.raises(ValueError, match="at least 10 pairs"):
        spearman(np.arange(5.0), np.arange(5.0))
    with pytest.raises(ValueError, match="pairs that vary"):
        spearman(np.ones(20), np.arange(20.0))


@pytest.mark.slow
def test_the_interval_of_a_rank_correlation_covers_the_truth():
    """Bivariate normal, r = 0.6: Spearman's is 6/pi asin(r/2) (Pearson 1907, memory); 4 standard errors."""
    rng, n, runs = np.random.Generator(np.random.PCG64(9)), 100, 600
    truth = 6 / np.pi * np.arcsin(0.3)
    inside = 0
    for _ in range(runs):
        x = rng.standard_normal(n)
        found = spearman(x, 0.6 * x + 0.8 * rng.standard_normal(n))
        inside += found.low <= truth <= found.high
    assert abs(inside / runs - 0.95) < 4 * (0.95 * 0.05 / runs) ** 0.5


def linear(n=4000, seed=4):
    """Y = 2 A + B: A has 4/5 of the variance, B 1/5, C none."""
    rng = np.random.Generator(np.random.PCG64(seed))
    a, b, c = rng.standard_normal((3, n))
    y = np.rint((200 + 2 * a + b) * DAY).astype(np.int64)
    return [Input(k, "", "", v) for k, v in zip("abc", (a, b, c), strict=True)], y


def test_regression_and_known_share_of_a_linear_answer():
    """Standardised coefficients are sqrt(0.8) and sqrt(0.2) on values, and close to that on normal ranks."""
    inputs, y = linear()
    coefficients, explained = rank_regression(inputs, y)
    assert [c.value for c in coefficients] == pytest.approx([0.8**0.5, 0.2**0.5, 0], abs=0.05)
    assert explained == pytest.approx(1, abs=0.05)
    assert coefficients[2].low < 0 < coefficients[2].high
    for one, truth in zip(inputs, (0.8, 0.2, 0.0), strict=True):
        known = share_if_known(one.values, y / DAY)
        # Groups of like A still vary within, a hundredth or so.
        assert known.value == pytest.approx(truth, abs=0.02)
        assert known.high - known.low < 0.1
    found = drivers(inputs, y)
    assert [d.name for d in found.drivers] == ["a", "b", "c"]
    assert [d.verdict for d in found.drivers] == [DRIVES, DRIVES, NONE_SEEN]
    # A known leaves the variance of B: sd 1 of sqrt(5).
    assert found.drivers[0].sd_known == pytest.approx(1, abs=0.05)


def test_inputs_that_say_the_same_thing_get_no_regression():
    inputs, y = linear(200)
    twice = [*inputs, Input("again", "", "", inputs[0].values * 3)]
    assert rank_regression(twice, y) == (None, None)
    assert rank_regression(inputs, y[:5]) == (None, None)


def test_trials_beyond_the_horizon_rank_last_and_leave_no_deviation():
    inputs, y = linear(200)
    late = np.where(y > np.quantile(y, 0.9), LATER, y)
    found = drivers(inputs, late)
    assert found.sd is None
    assert found.drivers[0].name == "a"
    assert found.drivers[0].rank.low > 0.7
    assert (found.drivers[0].known, found.drivers[0].sd_known) == (None, None)


def test_too_few_trials_make_no_claim():
    inputs, y = linear(8)
    assert {d.rank for d in drivers([Input(i.name, "", "", i.values) for i in inputs], y).drivers} == {None}
    with pytest.raises(ValueError, match="at least 40"):
        share_if_known(inputs[0].values, y / DAY)


def test_a_risk_that_nearly_always_happens_keeps_its_share():
    """A sum y = 3 x + e with x and e of equal spread has the share 0.9; few intervals miss it."""
    rng = np.random.Generator(np.random.PCG64(5))
    happens = (rng.random(1000) < 0.96).astype(float)
    finish = happens / (0.96 * 0.04) ** 0.5 + rng.standard_normal(1000)
    assert share_if_known(happens, finish).value == pytest.approx(0.5, abs=0.08)


def test_the_interval_of_a_strong_share_covers_it():
    """A sum y = 3 x + e with equal spreads has the share 0.9; few intervals miss."""
    rng = np.random.Generator(np.random.PCG64(6))
    held = 0
    for _ in range(200):
        x = rng.standard_normal(500)
        share = share_if_known(x, 3 * x + rng.standard_normal(500))
        held += share.low <= 0.9 <= share.high
    assert held >= 180


def test_drivers_are_sorted_by_what_is_known_away():
    """A pace of little weight goes steadily with the finish; a rare risk makes nearly all of its variance."""
    rng = np.random.Generator(np.random.PCG64(7))
    pace, risk = rng.random(1000), (rng.random(1000) < 0.03).astype(float)
    finish = np.rint(DAY * (100 + pace + 60 * risk)).astype(np.int64)
    inputs = [Input("pace", "pace", "", pace), Input("risk", "risks", "", risk)]
    assert [d.name for d in drivers(inputs, finish).drivers] == ["risk", "pace"]
