"""What an event did to the steps of a plan, and what a trial without it has instead.

An act is an event inside a stretch of time: from its own begin or that of the stretch, to its own end or the
day up to which the site was seen.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from towerpace.plan.chance import Drawn
from towerpace.plan.site.risks import HandoverDays
from towerpace.units import Flags, Ints


class Act(Protocol):
    """What one event did, and undoing it; minutes and dates of a trial are written in place."""

    def on(self, into: Drawn) -> None:
        """Let it befall a trial that knows nothing of it."""

    def off(self, into: Drawn) -> None:
        """Take it out of a trial."""


@dataclass(frozen=True)
class Late:
    """Levels or trucks that came later than due.

    steps : (k,) struck, from the lowest level up. since : minute up to which nothing is taken back. [min]
    due : minute at which the first was due, where it has not come: it would have come then; else -1. [min]
    late : minutes by which they came later. [min]
    levels : (n_levels,) handovers of all levels, none before the one below; empty of trucks.
    days : on which levels are handed over; None if on any.
    """

    steps: Ints
    since: int
    due: int
    late: int
    levels: Ints
    days: HandoverDays | None = None

    def on(self, into: Drawn) -> None:
        """Nothing to do: the record has their dates, or the law draws them from today on."""

    def off(self, into: Drawn) -> None:
        """All come as much earlier as the first."""
        date, came = into.date, into.date[self.steps]
        earlier = int(came[0]) - self.due if self.due >= 0 else self.late
        would = came - max(earlier, 0)
        if self.days is not None:
            would = self.days.on_them(would)
        date[self.steps] = np.minimum(np.maximum(would, self.since), came)
        if len(self.levels):
            date[self.levels] = np.maximum.accumulate(date[self.levels])


@dataclass(frozen=True)
class Held:
    """Work that was held.

    begun : (k,) steps that were under way. before, longer : open minutes that they lost before the stretch,
    and in it. [min]
    waiting : (m,) steps that had not begun. to : minute at which work went on. [min]
    """

    begun: Ints
    before: Ints
    longer: Ints
    waiting: Ints
    to: int

    def on(self, into: Drawn) -> None:
        """What was under way takes longer, what had not begun waits."""
        into.work[self.begun] += self.before + self.longer
        into.date[self.waiting] = np.maximum(into.date[self.waiting], self.to)

    def off(self, into: Drawn) -> None:
        """What was lost before the stretch stays lost."""
        into.work[self.begun] += self.before


@dataclass(frozen=True)
class Out:
    """Units that were out.

    leave, back : (k,) the steps at which each leaves, and is back. gone : (k,) whether it had left before the
    stretch begins. since, to : the stretch of its absence. [min]  never : minute beyond the clock. [min]
    """

    leave: Ints
    back: Ints
    gone: Flags
    since: int
    to: int
    never: int

    def on(self, into: Drawn) -> None:
        """Back no later than the stretch ends."""
        into.date[self.back] = self.to

    def off(self, into: Drawn) -> None:
        """Who had left is back at once, the others never leave."""
        into.date[self.back] = self.since
        into.date[self.leave[~self.gone]] = self.never
