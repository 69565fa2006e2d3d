"""Where the spread of a forecast comes from, and draws in which some of it is switched off.

A source that is off takes what the plan says: planned minutes, planned dates, remedies left out, weather as
it was recorded. Streams of random numbers are keyed by purpose, so what stays on is drawn exactly as before.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from towerpace.answers.outline import calm
from towerpace.answers.prepare import Prepared
from towerpace.climate.hours import Hours
from towerpace.draws import Chooser
from towerpace.plan.chance import SOURCES, WEATHER
from towerpace.units import Flags

__all__ = ["SOURCES", "WEATHER", "Switched", "alone", "sources_of", "without", "without_weather"]


def sources_of(ready: Prepared) -> tuple[str, ...]:
    """Sources of spread that a plan has, whether or not anything varies in them."""
    there = {WEATHER} if ready.chooser.weather is not None else set()
    there = there.union(*(law.sources() for law in ready.chooser.laws))
    return tuple(source for source in SOURCES if source in there)


@dataclass(frozen=True)
class Switched(Chooser):
    """Draws that begin with the plan, so that a law which is not there leaves what was planned.

    recorded : whether every trial has the weather as it was recorded, from the first year of the record on.
    """

    recorded: bool = False

    def left_out(self) -> Flags:
        """Remedies are left out, unless a law says that they are needed, (n,)."""
        return ~self.plan.planned

    def hours(self, seed: int, trial: int) -> Hours | None:
        """The weather of one trial."""
        if self.recorded and self.weather is not None:
            return self.weather.replayed(0)
        return super().hours(seed, trial)


def without(ready: Prepared, off: Collection[str]) -> Switched:
    """Draws with some sources off, the others as they were.

    Raises `ValueError` for a source that the plan does not have.
    """
    unknown = sorted(set(off).difference(sources_of(ready)))
    if unknown:
        raise ValueError(f"no such source of spread in this plan: {', '.join(unknown)}")
    laws = tuple(left for law in ready.chooser.laws for left in law.without(off))
    return Switched(ready.chooser.plan, laws, ready.chooser.weather, recorded=WEATHER in off)


def alone(ready: Prepared, source: str) -> Switched:
    """Draws with one source on and all others off."""
    if source not in sources_of(ready):
        raise ValueError(f"no such source of spread in this plan: {source}")
    return without(ready, [other for other in sources_of(ready) if other != source])


def without_weather(ready: Prepared) -> Switched:
    """Draws with everything on in a world without weather: not as recorded, none at all."""
    return Switched(calm(ready.chooser.plan), ready.chooser.laws, None)
