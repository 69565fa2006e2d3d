"""What an event did to the steps of a plan, and what a trial without it has instead.

An act is an event inside a stretch of time: from its own begin or that of the stretch, to its own end or the
day up to which the site was seen.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np

from towerpace.engine.openings import without
from towerpace.plan.arrays import NONE
from towerpace.plan.chance import Drawn
from towerpace.plan.lists import ALWAYS, WORK
from towerpace.plan.model import Plan
from towerpace.plan.parts import Window
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
    """Work that was held: its windows are closed meanwhile.

    steps : (k,). since, to : when it was held. [min]
    """

    steps: Ints
    since: int
    to: int

    def on(self, into: Drawn) -> None:
        """Nothing to do: `held_plan` closes the windows."""

    def off(self, into: Drawn) -> None:
        """Nothing to do: minutes and dates are without it."""


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


def held_plan(plan: Plan, acts: Iterable[Act]) -> Plan:
    """A plan in which work waits and pauses while it is held."""
    for act in acts:
        if isinstance(act, Held) and act.to > act.since and len(act.steps):
            plan = _closed(plan, act)
    return plan


def _closed(plan: Plan, held: Held) -> Plan:
    """Every window of the steps once more, without the stretch; what had none pauses, too."""
    windows, window, mode = list(plan.windows), plan.window.copy(), plan.mode.copy()
    span = np.array([[held.since, held.to]])
    for number in np.unique(plan.window[held.steps]).tolist():
        own = held.steps[plan.window[held.steps] == number]
        usual = Window("", [(0, plan.horizon)]) if number == NONE else plan.windows[number]
        shifts = np.asarray(usual.shifts, dtype=np.int64).reshape(-1, 2)
        window[own] = len(windows)
        windows.append(replace(usual, name=f"{usual.name} but {held.since}", shifts=without(shifts, span)))
        mode[own[mode[own] == ALWAYS]] = WORK
    return plan.changed(windows=tuple(windows), window=window, mode=mode)
