"""How chance decides the numbers of a plan: laws, the sources of spread they stand for, and what probes read.

A law decides some numbers of some steps, and nothing of any other law. It draws under purposes: a purpose
names a stream of random numbers, an item is a place in that stream (a panel, a truck, a front), so that what
happens to an item does not depend on who else is in the plan or in what order things run. Where two trades
both count their items from 0, the streams of the second bear its name as well: its owner.

A new law is one class: which steps it decides, from which streams, which source of spread it belongs to, and
what a reader may want to know of what it drew.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass, fields
from typing import Any, ClassVar

import numpy as np

from towerpace.lots.streams import Streams
from towerpace.plan.arrays import PlanArrays
from towerpace.plan.learned import LearnedPaces
from towerpace.plan.learned_chances import LearnedChances
from towerpace.plan.seen import Seen
from towerpace.scenario.spreads import Spread
from towerpace.units import Flags, Floats, Ints

WEATHER = "weather"
MINUTES = "trade pace and item minutes"
STRUCTURE = "structure"
DELIVERIES = "deliveries"
BREAKAGE = "breakage and remakes"
BREAKDOWNS = "breakdowns"
MOCK_UP = "mock-up"
RISKS = "risk events"
OTHER = "other chances"
SOURCES = (WEATHER, MINUTES, STRUCTURE, DELIVERIES, BREAKAGE, BREAKDOWNS, MOCK_UP, RISKS, OTHER)


@dataclass(frozen=True)
class Drawn:
    """The arrays that laws write into, (n,) over the compiled steps: minutes, earliest starts, left out."""

    work: Ints
    date: Ints
    skip: Flags


@dataclass(frozen=True)
class DrawnTogether(Drawn):
    """The same of many trials side by side, (n_trials, n). each : of every trial by itself."""

    each: tuple[Drawn, ...]

    @classmethod
    def room_for(cls, trials: int, n: int) -> DrawnTogether:
        """Room for so many trials of n steps."""
        work, date = np.zeros((2, trials, n), dtype=np.int64)
        skip = np.zeros((trials, n), dtype=np.bool_)
        each = tuple(Drawn(*arrays) for arrays in zip(work, date, skip, strict=True))
        return cls(work, date, skip, each)

    def first(self, n: int) -> DrawnTogether:
        """The first n trials."""
        return DrawnTogether(self.work[:n], self.date[:n], self.skip[:n], self.each[:n])


@dataclass(frozen=True)
class Known:
    """What is known of a trial before it is drawn.

    learned, chances : what the site has taught about the paces of its trades and the losses of panels; None
        for nothing.
    seen : what it has shown of the steps of the plan, None before it begins.
    """

    learned: LearnedPaces | None = None
    chances: LearnedChances | None = None
    seen: Seen | None = None

    def befalls(self, risk: str, *, drawn: Flags) -> Flags:
        """Whether a risk befalls in a trial: as the site knows, else as drawn, (...)."""
        told = None if self.seen is None else self.seen.risks.get(risk)
        return drawn if told is None else np.full_like(drawn, told)


NOTHING_KNOWN = Known()


@dataclass(frozen=True)
class Probe:
    """Reads one number off what was drawn, as a whole number.

    scale : so many of them make one of the unit. pace : trade whose drawn pace is in the number, if any.
    """

    name: str
    source: str
    unit: str
    scale: float
    read: Callable[[Any], int]
    pace: str | None = None


class Law:
    """A rule of chance for some steps of a plan.

    source : what its spread is put down to, one of `SOURCES`.
    """

    source: ClassVar[str] = OTHER

    def apply(self, into: Drawn, streams: Streams, known: Known) -> None:
        """Draw one trial: write into the arrays, taking numbers from the streams of its own purposes.

        Of many trials side by side, arrays are (n_trials, n) and so are the numbers, where `takes_many`.
        """
        raise NotImplementedError  # every law says its own

    def takes_many(self, known: Known) -> bool:  # noqa: ARG002  one interface
        """Whether `apply` can draw many trials in one go, from `Counted` streams: it asks no generator."""
        return False

    def sources(self) -> set[str]:
        """Sources of spread that it stands for."""
        return {self.source}

    def without(self, off: Collection[str]) -> Iterator[Law]:
        """What is left of it when some sources of spread are switched off."""
        if self.source not in off:
            yield self

    def probes(self, plan: PlanArrays, *, until: int) -> Iterator[Probe]:  # noqa: ARG002  one interface
        """What a reader may want to know of a trial. until : minute up to which what happens counts."""
        return iter(())

    def drawn_for(self, plan: PlanArrays) -> Iterator[tuple[Spread, float]]:  # noqa: ARG002  one interface
        """Spreads of which every trial draws as many values, remedies left out, with their number."""
        return iter(())


@dataclass(frozen=True)
class MadeOnce:
    """What is the same in every trial is made on first use, and not sent to workers."""

    def __getstate__(self) -> dict[str, Any]:
        return {field.name: getattr(self, field.name) for field in fields(self)}


def stream_name(purpose: str, *, owner: str) -> str:
    """Stream of a purpose for the items of one trade: the purpose itself if no owner is named."""
    return f"{purpose} of {owner}" if owner else purpose


def by_item(stream: np.random.Generator, items: Ints) -> Floats:
    """Numbers from 0 to 1 of some items of a stream, (k,); an item has the same one whoever else asks. [-]"""
    numbers: Floats = stream.random(int(items.max(initial=-1)) + 1)
    return numbers[items]


def stretch(into: Drawn, steps: Ints, *, factor: Floats, known: Known) -> None:
    """Multiply the minutes of some steps; of one in progress, whose minutes are counted, those still left.

    factor : (..., k). [-]
    """
    usual = into.work[..., steps]
    spent = np.zeros_like(usual)
    if known.seen is not None:
        spent = np.where(known.seen.timed[steps], np.minimum(known.seen.spent[steps], usual), 0)
    longer = np.maximum(np.rint((usual - spent) * factor), usual > spent)
    into.work[..., steps] = spent + longer.astype(np.int64)


def taken(steps: Ints, drawn: Drawn) -> int:
    """How many of some steps are not left out."""
    return int(np.count_nonzero(~drawn.skip[steps]))
