"""Working minutes inside what a log says: open by the window of the work, on the weather of the site."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from towerpace.climate.hours import Hours
from towerpace.engine.openings import Openings
from towerpace.plan.arrays import NONE, PlanArrays
from towerpace.plan.lists import START
from towerpace.units import HOUR_MIN, Flags, Ints


@dataclass(frozen=True)
class Shown:
    """A row of the log: work on one front, or part of it, from one minute to another.

    steps : of the plan, one trade's on one front, in the order in which they are done; what has to happen
        between them need not be named.
    start, finish : minutes; finish None while it is in progress. [min]
    start_until, finish_from : where only days are known, start lies in [start, start_until) and finish in
        [finish_from, finish); None where the minute is known. [min]
    """

    steps: Sequence[int]
    start: int
    finish: int | None
    start_until: int | None = None
    finish_from: int | None = None


class OpenSpans:
    """Open minutes of one window, counted from the first midnight. spans : (n, 2). [min]"""

    def __init__(self, spans: Ints) -> None:
        self._from, self._to = spans[:, 0], spans[:, 1]
        self._before = np.concatenate(([0], np.cumsum(self._to - self._from)))

    def until(self, minute: int) -> int:
        """Open minutes before a minute. [min]"""
        begun = int(np.searchsorted(self._from, minute, side="left"))
        over = 0 if not begun else max(int(self._to[begun - 1]) - minute, 0)
        return int(self._before[begun]) - over

    def opens_inside(self, start: int, finish: int) -> bool:
        """Whether it opens anew after a minute and before another."""
        opened = np.searchsorted(self._from, start, side="right")
        return bool(np.searchsorted(self._from, finish, side="left") > opened)


class SiteClock:
    """Open minutes of every window of a plan, on the weather that the site had.

    plan : with its own windows, not those clipped at a data date.
    hours : the site's weather up to the data date, None if it is not known.
    measured : whether each hour is the site's own, (n_hours,); None for all of them.
    """

    def __init__(self, plan: PlanArrays, *, hours: Hours | None, measured: Flags | None = None) -> None:
        self._plan, self._hours, self._measured = plan, hours, measured
        self._openings = Openings(plan.windows, hours=hours, horizon=plan.horizon)
        self._spans: dict[int, OpenSpans] = {}
        self._shifts: dict[int, OpenSpans] = {}

    def tells(self, shown: Shown, *, data_date: int) -> bool:
        """Whether the working minutes of a row are known: not if weather that nobody tells may stop it."""
        windows = {int(self._plan.window[step]) for step in shown.steps} - {NONE}
        if not any(self._plan.windows[window].limits for window in windows):
            return True
        if self._hours is None or self._measured is None:
            return self._hours is not None
        end = data_date if shown.finish is None else shown.finish
        inside = self._measured[shown.start // HOUR_MIN : -(-end // HOUR_MIN)]
        return bool(inside.all()) and end <= len(self._measured) * HOUR_MIN

    def between(self, step: int, start: int, finish: int) -> int:
        """Working minutes of a step inside [start, finish). [min]

        A lift that has begun runs on when its hour turns bad or its shift ends: all minutes count, unless the
        window opens anew before it ends, for then the work had stopped.
        """
        window = int(self._plan.window[step])
        if window == NONE or finish <= start:
            return max(finish - start, 0)
        spans = self._open(window)
        if self._plan.mode[step] == START and not spans.opens_inside(start, finish):
            return finish - start
        return spans.until(finish) - spans.until(start)

    def _open(self, window: int) -> OpenSpans:
        if window not in self._spans:
            self._spans[window] = OpenSpans(self._openings[window].spans)
        return self._spans[window]

    def in_shifts(self, step: int, start: int, finish: int) -> tuple[int, int]:
        """Shift minutes of a step inside [start, finish), and those of them that weather stops. [min]"""
        window = int(self._plan.window[step])
        if window == NONE or finish <= start:
            return max(finish - start, 0), 0
        if window not in self._shifts:
            self._shifts[window] = OpenSpans(self._openings[window].shifts)
        spans, shifts = self._open(window), self._shifts[window]
        minutes = shifts.until(finish) - shifts.until(start)
        return minutes, minutes - (spans.until(finish) - spans.until(start))

    def bounds(self, shown: Shown, *, data_date: int) -> tuple[float, float]:
        """Working minutes that a row lasts: at least and at most; no end while it is in progress. [min]"""
        step = int(shown.steps[0])
        latest_start = shown.start if shown.start_until is None else shown.start_until
        if shown.finish is None:
            return float(self.between(step, latest_start, data_date)), np.inf
        earliest_finish = shown.finish if shown.finish_from is None else shown.finish_from
        low = float(self.between(step, latest_start, earliest_finish))
        return low, max(low, float(self.between(step, shown.start, shown.finish)))
