"""How long steps may have taken of which nobody told the minutes: between the sheets that saw them."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np

from towerpace.answers.seen.observed import ANY, Observed
from towerpace.answers.seen.site_state import SiteState
from towerpace.plan.arrays import NONE
from towerpace.record.moments import end_of
from towerpace.units import Ints


@dataclass(frozen=True)
class Bounds:
    """Minutes that steps took at least and at most, (n,) each. [min]"""

    least: Ints
    most: Ints

    def kept(self, work: Ints) -> Ints:
        """Drawn minutes, inside the bounds, (n,). [min]"""
        kept: Ints = np.minimum(np.maximum(work, self.least), self.most)
        return kept

    def but(self, steps: Collection[int]) -> Bounds:
        """The same without any for some steps."""
        least, most = self.least.copy(), self.most.copy()
        least[list(steps)], most[list(steps)] = 0, ANY
        return Bounds(least, most)


def bounds_of(state: SiteState, known: Observed, *, began: Ints, ended: Ints) -> Bounds:
    """Bounds of the minutes of steps that are under way at the begin of a replay, and were seen to be done.

    began, ended : (n,) of the past that is pinned; -1 for others. [min]

    Their begin is pinned, and they ended between the last sheet on which they were not done and the first on
    which they were. When inside that week is a guess, and the law decides.
    """
    past, plan, clock = state.past, known.plan, known.clock()
    least, most = np.zeros(plan.n, dtype=np.int64), np.full(plan.n, ANY)
    days = [end_of(day, start=state.record.start) for day in state.record.progress.days]
    sheets = np.array([*days, past.until])
    under_way = (began != NONE) & (ended == NONE) & known.seen.done & (known.work == NONE)
    for step in np.flatnonzero(under_way).tolist():
        since, undone = int(began[step]), int(past.undone[step])
        last = int(sheets[np.searchsorted(sheets, max(int(past.ended[step]), undone + 1))])
        least[step] = clock.between(step, since, max(undone, since))
        most[step] = max(clock.between(step, since, last), least[step])
    return Bounds(least, most)
