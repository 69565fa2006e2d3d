"""Minutes of the work that falls into weeks of other hours, stretched by a fatigue factor."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import ClassVar

from towerpace.lots.streams import Streams
from towerpace.plan.arrays import PlanArrays
from towerpace.plan.chance import MINUTES, Drawn, Known, Law, MadeOnce, stretch
from towerpace.scenario.spread_rows import Row, one_each
from towerpace.scenario.spreads import Spread
from towerpace.units import Floats, Ints


@dataclass(frozen=True)
class FatigueLaw(MadeOnce, Law):
    """Stretches steps by one factor a trial, as far as their work falls into some weeks.

    calendar, number : whose dated hours they are. steps : (k,).
    shares : (k,) of the work of each step that falls into these weeks. [-]  factor : on that work. [-]

    Notes
    -----
    What falls into these weeks is known of the plan, not of the trial: a trial that runs late does other work
    in them, of about the same amount.
    """

    source: ClassVar[str] = MINUTES
    calendar: str
    number: int
    steps: Ints
    shares: Floats
    factor: Spread

    def apply(self, into: Drawn, streams: Streams, known: Known) -> None:
        """Draw the factor of the trial."""
        factor = self._row.drawn(streams)
        stretch(into, self.steps, factor=1 + self.shares * (factor - 1), known=known)

    def takes_many(self, known: Known) -> bool:  # noqa: ARG002  one interface
        """Always."""
        return True

    @cached_property
    def _row(self) -> Row:
        return one_each({f"fatigue of {self.calendar} {self.number}": self.factor})

    def drawn_for(self, plan: PlanArrays) -> Iterator[tuple[Spread, float]]:  # noqa: ARG002  one interface
        """One factor a trial."""
        yield self.factor, 1
