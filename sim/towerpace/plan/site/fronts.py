"""Fronts of a tower in planned order, and the names of what happens on them."""

from __future__ import annotations

from dataclasses import dataclass

from towerpace.scenario.levels import Levels

CURING = "curing"  # what the ledger calls time that must pass before a trade
HOISTING, DELIVERY = "hoisting", "delivery"
NO_ROW = ""  # trade of what has no row in the ledger: it is seen in the waiting of others
FIRST = -1_000_000  # a rank before every other
LAST = 1_000_000_000  # a rank after every other


@dataclass(frozen=True, slots=True)
class Front:
    """One zone of one level, numbered from the lowest level up, along each level in order of work.

    spot : its place in the arrays of the level table.
    """

    number: int
    spot: tuple[int, int]
    level: int
    zone: str

    @property
    def floor(self) -> int:
        """Place of its level, 0 the lowest."""
        return self.spot[0]

    @property
    def where(self) -> str:
        """As people say it."""
        return f"L{self.level} {self.zone}"


def fronts_of(levels: Levels) -> tuple[Front, ...]:
    """All fronts in planned order."""
    return tuple(
        Front(floor * len(levels.zones) + k, (floor, k), level, zone)
        for floor, level in enumerate(levels.levels)
        for k, zone in enumerate(levels.zones)
    )


def strip_pool(zone: str) -> str:
    """The air and the ground under the lifts of one zone, all levels together."""
    return f"strip {zone}"


def handover_name(level: int) -> str:
    """Step at whose end a level is handed over."""
    return f"handover of L{level}"


def activity_name(name: str) -> str:
    """Step at whose end what happens once is done."""
    return name


def water_test_name(front: Front) -> str:
    """Step at whose end a front is water tested."""
    return f"water test {front.where}"


def holes_closed_name(name: str, front: Front) -> str:
    """Step at whose end a front of a panel trade has no holes, where it may have any."""
    return f"{name} {front.where}: holes closed"


def leave_outs_name(front: Front) -> str:
    """Step at whose end the panels left out on a front are in."""
    return f"leave-outs {front.where}"


def closing_in_name(level: int) -> str:
    """Step at whose end a level is closed in."""
    return f"closing-in of L{level}"
