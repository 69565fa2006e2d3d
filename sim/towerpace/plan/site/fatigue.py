"""Minutes of the work that falls into weeks of other hours, stretched by a fatigue factor."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar

from towerpace.lots.streams import Streams
from towerpace.plan.arrays import PlanArrays
from towerpace.plan.chance import MINUTES, Drawn, Known, Law, stretch
from towerpace.scenario.spreads import Spread
from towerpace.units import Floats, Ints


@dataclass(frozen=True)
class FatigueLaw(Law):
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
        chance = streams(f"fatigue of {self.calendar} {self.number}").random(1)
        factor = float(self.factor.quantile(chance)[0])
        stretch(into, self.steps, factor=1 + self.shares * (factor - 1), known=known)

    def drawn_for(self, plan: PlanArrays) -> Iterator[tuple[Spread, float]]:  # noqa: ARG002  one interface
        """One factor a trial."""
        yield self.factor, 1
