"""Who waits for what: every thing by itself (a crate waits 31 h for the hoist), and the sum of all."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from towerpace.answers.ledger.book import awaited, in_calendar_time
from towerpace.answers.why.explain import ExplanationDetail

AREA = "work area"  # of a trade: a zone of a level
SHIFT_CLOCK, CALENDAR_CLOCK = "shift", "calendar"
_THINGS = {
    "hoist trip": "crate",
    "empty crate down": "empty crate",
    "unloading": "truck",
    "floor slots": "crates of a work area",
    "lift": "panel",
}


@dataclass(frozen=True)
class Waiting:
    """Things of a kind that wait for the same.

    trade : trade or row of the ledger. thing : what waits, one of `things` in the mean of the trials.
    awaited : resource, or what comes before. clock : shift, or calendar. mean_h : all of them together, in
    the mean of the trials. [h]
    """

    trade: str
    thing: str
    awaited: str
    clock: str
    things: float
    mean_h: float

    @property
    def each_h(self) -> float:
        """Hours that one of them waits, in the mean."""
        return self.mean_h / self.things

    @property
    def awaited_said(self) -> str:
        """What is waited for; the own trade is elsewhere: on the level below, or beside."""
        return f"{self.awaited} elsewhere" if self.awaited == self.trade else self.awaited


def waiting_of(why: ExplanationDetail) -> list[Waiting]:
    """Who waits for resources, for a place in a line and for what comes before, the longest sum first."""
    return sorted([*_on_fronts(why), *_elsewhere(why)], key=lambda waiting: -waiting.mean_h)


def _on_fronts(why: ExplanationDetail) -> Iterator[Waiting]:
    areas = float(len(why.ready.tower.fronts))
    for row in range(len(why.ready.tower.trades)):
        yield from _waits(why, why.who[row], AREA, hours=why.ledger_h[row], things=areas)


def _elsewhere(why: ExplanationDetail) -> Iterator[Waiting]:
    for (trade, kind), hours, things in zip(why.things, why.waited_h, why.passed, strict=True):
        yield from _waits(why, trade, _THINGS.get(kind, kind), hours=hours, things=float(things))


def _waits(
    why: ExplanationDetail, trade: str, thing: str, *, hours: np.ndarray, things: float
) -> Iterator[Waiting]:
    for cause, mean_h in zip(why.for_, hours.tolist(), strict=True):
        what = awaited(cause)
        if what is not None and mean_h > 0:
            clock = CALENDAR_CLOCK if in_calendar_time(cause) else SHIFT_CLOCK
            yield Waiting(trade, thing, what, clock, things, mean_h)
