"""Working minutes inside what a log says: open by the window of the work, on the weather of the site."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from towerpace.climate.hours import Hours
from towerpace.engine.openings import Opening, Openings, both
from towerpace.plan.arrays import NONE, PlanArrays
from towerpace.plan.lists import START
from towerpace.units import Ints


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


class SiteClock:
    """Open minutes of every window of a plan, on the weather that the site had.

    plan : with its own windows, not those clipped at a data date.
    hours : the site's weather up to the data date, None if it is not known.
    """

    def __init__(self, plan: PlanArrays, *, hours: Hours | None) -> None:
        self._plan, self._hours = plan, hours
        self._openings = Openings(plan.windows, hours=hours, horizon=plan.horizon)

    def tells(self, step: int) -> bool:
        """Whether the open minutes of a step are known: not if weather that nobody tells may stop it."""
        window = int(self._plan.window[step])
        return window == NONE or self._hours is not None or not self._plan.windows[window].limits

    def between(self, step: int, start: int, finish: int) -> int:
        """Working minutes of a step inside [start, finish). [min]

        A lift that has begun runs on when its hour turns bad or its shift ends: all minutes count, unless the
        window opens anew before it ends, for then the work had stopped.
        """
        window = int(self._plan.window[step])
        if window == NONE or finish <= start:
            return max(finish - start, 0)
        opening = self._openings[window]
        if self._plan.mode[step] == START and not _opens_inside(opening, start, finish):
            return finish - start
        return _open_inside(opening, start, finish)

    def bounds(self, shown: Shown, *, data_date: int) -> tuple[float, float]:
        """Working minutes that a row lasts: at least and at most; no end while it is in progress. [min]"""
        step = int(shown.steps[0])
        latest_start = shown.start if shown.start_until is None else shown.start_until
        if shown.finish is None:
            return float(self.between(step, latest_start, data_date)), np.inf
        earliest_finish = shown.finish if shown.finish_from is None else shown.finish_from
        low = float(self.between(step, latest_start, earliest_finish))
        return low, max(low, float(self.between(step, shown.start, shown.finish)))


def _open_inside(opening: Opening, start: int, finish: int) -> int:
    inside: Ints = both(opening.spans, np.array([[start, finish]], dtype=np.int64))
    return int((inside[:, 1] - inside[:, 0]).sum())


def _opens_inside(opening: Opening, start: int, finish: int) -> bool:
    opens = opening.spans[:, 0]
    return bool(np.searchsorted(opens, finish, side="left") > np.searchsorted(opens, start, side="right"))
