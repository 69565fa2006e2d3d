"""What happened to every step in one trial."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from towerpace.plan.model import Plan

NEVER = -1
DATE = -2
ORIGIN = -3

Stamps = NDArray[np.int32]


@dataclass(frozen=True)
class Diary:
    """Four stamps per compiled step, (n,) int32; -1 where it never came. [min]

    enabler : what let it start: a step number, DATE (-2) or ORIGIN (-3), never a window. It has ended by
        the start; the gap up to the start is window time. A step that was short of a pool names the last
        step to give to that pool when it became enough; one that stood behind the head of a line and was
        short of nothing itself names the enabler of the head that left; any other names the last
        predecessor to end (same minute: the highest number), or DATE if its date came later.
    """

    plan: Plan
    ready: Stamps
    started: Stamps
    finished: Stamps
    enabler: Stamps

    @cached_property
    def finish(self) -> int | None:
        """Minute at which the last step that is not optional ended; None if one never did. [min]"""
        finish = int(finishes(self.plan, self.finished))
        return None if finish == NEVER else finish

    @property
    def unfinished(self) -> list[str]:
        """Names of the steps that should have ended and did not."""
        late = np.flatnonzero((self.finished == NEVER) & ~self.plan.optional)
        return [self.plan.names[i] for i in late.tolist()]

    def started_at(self, name: str) -> int:
        """Start of a step by the name the user gave it. [min]"""
        return int(self.started[self.plan.first_of(name)])

    def finished_at(self, name: str) -> int:
        """End of a step by the name the user gave it. [min]"""
        return int(self.finished[self.plan.last_of(name)])


def finishes(plan: Plan, finished: Stamps) -> Stamps:
    """Minute at which the last step that is not optional ended; -1 where one never did. [min]

    finished : (..., n), of one trial or of many.
    """
    # A product is ten times as fast as choosing: what is optional counts as ended at once.
    needed = finished * ~plan.optional
    never = needed.min(axis=-1, initial=0) == NEVER
    last: Stamps = np.where(never, NEVER, needed.max(axis=-1, initial=0))
    return last
