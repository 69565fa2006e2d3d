"""Fronts of a tower in planned order, and the names of what happens on them."""

from __future__ import annotations

from dataclasses import dataclass

from towerpace.scenario.levels import Levels


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


def handover_name(level: int) -> str:
    """Step at whose end a level is handed over."""
    return f"handover of L{level}"


def closing_in_name(level: int) -> str:
    """Step at whose end a level is closed in."""
    return f"closing-in of L{level}"
