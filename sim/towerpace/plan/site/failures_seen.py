"""Failures once the site runs: those of the past are over, told or not; the next one is still to come.

Who writes down that a hoist has stood still for a day? A failure that nobody told of is taken to have
happened whenever chance says, and to be over. One that was told counts: the gap after its repair is longer
than the time since.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from towerpace.plan.given import quantile_above
from towerpace.plan.seen import Seen
from towerpace.scenario.schema import Breakdown
from towerpace.units import HOUR_MIN, Floats, Ints

NEVER_FAILS = 2**40  # minutes, beyond any horizon


@dataclass(frozen=True)
class OwnFailures:
    """Steps of the failures of one unit.

    runs, repairs : (n,) in their order. since : its first minute on the site. [min]
    absent : (k, 2) spans up to a minute behind which none are over, in which it cannot fail. [min]
    """

    runs: Ints
    repairs: Ints
    since: int
    absent: Ints


@dataclass(frozen=True)
class StillToFail:
    """What a site has shown of the failures of one resource."""

    seen: Seen
    breakdown: Breakdown

    def settle(self, own: OwnFailures, runs: Ints, repairs: Ints, lots: Floats, *, by_clock: bool) -> None:
        """Set the minutes of one unit right, in place, (n,) each. [min]

        lots : (n, 3) the numbers that they were drawn from. by_clock : whether runs go without a window.
        """
        seen = self.seen
        over = int(np.count_nonzero(seen.done[own.repairs]))
        if over == len(runs):
            return
        if seen.begun[own.runs[over]]:
            self._go_on(own, over, runs, repairs, lots)
            return
        since = int(seen.ended[own.repairs[over - 1]]) if over else own.since
        if since < seen.failures_over:
            self._pass_over(own, over, runs, repairs, since=since, by_clock=by_clock)

    def _go_on(self, own: OwnFailures, at: int, runs: Ints, repairs: Ints, lots: Floats) -> None:
        """The run or the repair in progress is longer than it was so far."""
        spreads = self.breakdown.every_h, self.breakdown.repair_h
        minutes, steps = (runs, repairs), (own.runs[at], own.repairs[at])
        for which, (spread, step) in enumerate(zip(spreads, steps, strict=True)):
            if self.seen.timed[step]:
                spent = int(self.seen.spent[step])
                hours = quantile_above(spread, float(lots[at, which]), spent / HOUR_MIN)
                minutes[which][at] = max(round(hours * HOUR_MIN), spent + 1)

    def _pass_over(
        self, own: OwnFailures, at: int, runs: Ints, repairs: Ints, *, since: int, by_clock: bool
    ) -> None:
        """Pass over the failures up to a minute that nobody told of; the first after it comes next.

        They are those of a unit whose repairs wait for nobody: a draw knows no jobs.
        """
        date = self.seen.failures_over
        gone = np.clip(own.absent, since, date)
        there = date - since - int(np.diff(gone).sum())
        fails = np.cumsum(runs[at:] + repairs[at:]) - repairs[at:]
        first = at + int(np.searchsorted(fails, there, side="right"))
        if first == len(runs):  # a millionth of the trials: none is left
            runs[at:] = NEVER_FAILS
            return
        left = min(int(fails[first - at]) - there, int(runs[first]))
        runs[at:], repairs[at:] = np.roll(runs[at:], at - first), np.roll(repairs[at:], at - first)
        runs[at] = left + (date - since if by_clock else 0)
