"""Crates, and the words under which their way is booked."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

HOISTING, DELIVERY = "hoisting", "delivery"
NO_ROW = ""  # trade of what has no row in the ledger: it is seen in the waiting of others
FIRST = -1_000_000  # a rank before every other


@dataclass(frozen=True, slots=True)
class Crate:
    """Panels of one family for one front: number on the front, family, how many."""

    number: int
    family: str
    panels: int


@dataclass(frozen=True, slots=True)
class Supplied:
    """Crates of a front in setting order, the trips that bring them, and who took their floor slots.

    go_down : writes the way down of an empty crate after a step, at the end of which its floor slot comes
        free; None where crates do not go down and the slot comes free with the last panel.
    """

    crates: list[Crate]
    trips: list[str]
    slots: str | None
    go_down: Callable[[Crate, str], None] | None = None
