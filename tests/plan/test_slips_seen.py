"""Slips of levels of which sheets tell the span alone, held to counting: plain trials that look the same."""

from functools import partial

import numpy as np
import pytest

from towerpace.draws import stream
from towerpace.plan.arrays import NONE
from towerpace.plan.chance import Drawn, Known
from towerpace.plan.seen import Seen
from towerpace.plan.site.risks import HandoverDays, HandoverLaw
from towerpace.plan.site.slips_seen import Delay
from towerpace.scenario.spreads import Spread

DAY, TRIALS, PLAIN = 1440, 300, 100_000
DUE_D = np.array([14, 23, 32, 41])
SLIP = Spread.pert(low=-0.5, likely=0, high=2)
STOP = Delay("stop", 1, 0.15, Spread.pert(low=5, likely=10, high=30))
LEVELS = HandoverLaw(np.arange(4), DUE_D * DAY, SLIP, delays=(STOP,))


def told(spans, *, at, risks=None):
    """A site of four levels, the lower ones handed over after a day and by another, seen up to a day."""
    first, last = (np.array([day[k] for day in spans] + [0] * (4 - len(spans))) * DAY for k in (0, 1))
    ended = np.where(np.arange(4) < len(spans), last, NONE)
    nothing = np.full(4, NONE)
    seen = Seen(
        at * DAY, ended, ended, np.full(4, np.nan), nothing, nothing, first + 1, last, risks=risks or {}
    )
    return Known(seen=seen)


def days(known, law=LEVELS, *, trials=TRIALS):
    """Handovers in trials, (trials, 4). [d]"""
    rows = []
    for trial in range(trials):
        into = Drawn(np.zeros(4, np.int64), np.zeros(4, np.int64), np.zeros(4, np.bool_))
        law.apply(into, partial(stream, 3, trial), known)
        rows.append(into.date / DAY)
    return np.array(rows)


def plain(*, befell):
    """Handovers of trials of which nothing is known, (PLAIN, 4). [d]"""
    rng = np.random.default_rng(8)
    late = np.cumsum(SLIP.quantile(rng.random((PLAIN, 4))), axis=1)
    late[:, 1:] += befell * STOP.size.quantile(rng.random((PLAIN, 1)))
    return DUE_D + late


@pytest.mark.parametrize(("befell", "week", "at"), [(False, (21, 28), 33), (True, (28, 35), 36)])
def test_a_level_that_came_in_some_week_came_on_any_day_that_agrees(befell, week, at):
    """Rejection: of plain trials those whose levels came in the same weeks, and whose next was not there."""
    free = plain(befell=befell)
    alike = (free[:, 0] > 14) & (free[:, 0] <= 21) & (free[:, 2] > at)
    counted = free[alike & (free[:, 1] > week[0]) & (free[:, 1] <= week[1])]
    law = days(told([(14, 21), week], at=at, risks={"stop": befell}))
    for level in range(4):
        exact = counted[:, level]
        assert law[:, level].mean() == pytest.approx(exact.mean(), abs=4 * exact.std() / TRIALS**0.5)
        assert law[:, level].std() == pytest.approx(exact.std(), rel=0.2)


def test_whether_the_structure_stopped_is_weighed_where_nobody_tells():
    """Bayes by counting: a level due on day 23 that came after day 28 says that it did."""
    law = days(told([(14, 21), (28, 35)], at=36), trials=50)
    known = days(told([(14, 21), (28, 35)], at=36, risks={"stop": True}), trials=50)
    assert law[:, 1].mean() == pytest.approx(known[:, 1].mean(), abs=0.1)


def test_levels_without_slips_come_on_their_days_to_the_minute():
    law = HandoverLaw(np.arange(4), DUE_D * DAY, Spread.constant(0))
    assert days(told([(7, 14), (21, 28)], at=30), law, trials=3).tolist() == [DUE_D.tolist()] * 3


def test_a_level_later_than_any_slip_stays_so_and_those_above_follow():
    dates = days(told([(14, 21), (35, 42)], at=42, risks={"stop": False}), trials=100)
    assert dates[:, 1].min() > 35
    assert dates[:, 1].max() <= 42
    assert dates[:, 2].mean() - dates[:, 1].mean() == pytest.approx(9 + SLIP.mean(), abs=0.3)


def test_a_level_that_was_put_off_to_a_working_day_is_no_later_for_it():
    """Ready on day 25 or 26, a weekend, it came on day 27; plain trials that did so are counted."""
    worked = HandoverDays(np.array([d + (0, 0, 0, 0, 2, 1, 0)[d % 7] for d in range(200)]))
    law = HandoverLaw(np.arange(4), DUE_D * DAY, Spread.pert(low=0, likely=2, high=5), days=worked)
    free = DUE_D[:2] + np.cumsum(law.slip_days.quantile(np.random.default_rng(4).random((9999, 2))), axis=1)
    came = law._on_days(np.rint(free * DAY).astype(np.int64), DUE_D[:2] * DAY) / DAY
    alike = (came[:, 0] > 14) & (came[:, 0] <= 21) & (came[:, 1] == 27)
    dates = days(told([(14, 21), (26.999, 27)], at=28), law)
    assert (dates[:, 1] == 27).all()
    slips = law.slip_days.quantile((np.arange(50) + 0.5) / 50)
    after = law._on_days(
        np.rint((32 - 23 + free[alike][:, 1, None] + slips) * DAY).astype(np.int64), DUE_D[2] * DAY
    )
    assert dates[:, 2].mean() == pytest.approx(after.mean() / DAY, abs=0.4)
