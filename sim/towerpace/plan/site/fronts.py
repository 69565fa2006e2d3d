"""Fronts of a tower in planned order, and the steps that others wait for before they are written."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from towerpace.scenario.levels import Levels

CURING = "curing"  # what the ledger calls time that must pass before a trade
HOISTING, DELIVERY = "hoisting", "delivery"
NO_ROW = ""  # trade of what has no row in the ledger: it is seen in the waiting of others
GONE = "gone"
FIRST = -1_000_000  # a rank before every other
LAST = 1_000_000_000  # a rank after every other


@dataclass(frozen=True, slots=True)
class Front:
    """One zone of one level, numbered from the lowest level up, along each level in order of work.

    spot : its place in the arrays of the level table. where : as people say it.
    """

    number: int
    spot: tuple[int, int]
    level: int
    zone: str
    where: str

    @property
    def floor(self) -> int:
        """Place of its level, 0 the lowest."""
        return self.spot[0]


def fronts_of(levels: Levels) -> tuple[Front, ...]:
    """All fronts in planned order."""
    return tuple(
        Front(floor * len(levels.zones) + k, (floor, k), level, zone, f"L{level} {zone}")
        for floor, level in enumerate(levels.levels)
        for k, zone in enumerate(levels.zones)
    )


class StepKey(NamedTuple):
    """A step that others wait for, written or not: what begins or ends with it, whose, and where.

    of : trade, activity or resource. at : number of the front or of the unit, or the level.
    """

    kind: str
    of: str = ""
    at: int = -1


def handover_step(level: int) -> StepKey:
    """Step at whose end a level is handed over."""
    return StepKey("handover", at=level)


def closing_in_step(level: int) -> StepKey:
    """Step at whose end a level is closed in."""
    return StepKey("closing-in", at=level)


def activity_begun(name: str) -> StepKey:
    """Step with which the work of what happens once begins."""
    return StepKey("activity begun", name)


def activity_done(name: str) -> StepKey:
    """Step at whose end what happens once is done."""
    return StepKey("activity done", name)


def gone_step(resource: str, unit: int) -> StepKey:
    """Step with which a unit leaves the site for good on a date."""
    return StepKey(GONE, resource, unit)


def activity_at(name: str, level: int) -> StepKey:
    """Step at whose end an activity that goes level by level is done with a level."""
    return StepKey("activity at level", name, level)


def front_begun(trade: str, front: Front) -> StepKey:
    """Step with which a trade begins on a front."""
    return StepKey("begun", trade, front.number)


def front_done(trade: str, front: Front) -> StepKey:
    """Step at whose end a gang has been over a front; holes may be left behind it."""
    return StepKey("done", trade, front.number)


def holes_closed_step(trade: str, front: Front) -> StepKey:
    """Step at whose end a front of a panel trade has no holes, where it may have any."""
    return StepKey("holes closed", trade, front.number)


def water_test_step(front: Front) -> StepKey:
    """Step at whose end a front is water tested."""
    return StepKey("water test", at=front.number)


def leave_outs_step(front: Front) -> StepKey:
    """Step at whose end the panels left out on a front are in."""
    return StepKey("leave-outs", at=front.number)


def strip_pool(zone: str) -> str:
    """The air and the ground under the lifts of one zone, all levels together."""
    return f"strip {zone}"
