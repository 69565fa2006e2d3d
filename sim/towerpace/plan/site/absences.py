"""Units that are not there: before they arrive, when they leave, while they are away or broken down.

Each absence is a step of one unit with the first rank that takes the unit when a job ends: nobody's work is
broken off. Where the pool is served first come, it stands in the order of arrival like everybody.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from functools import partial
from itertools import count
from typing import ClassVar

import numpy as np

from towerpace.plan.arrays import PlanArrays
from towerpace.plan.chance import BREAKDOWNS, Drawn, Known, Law, Probe, Streams
from towerpace.plan.parts import Give, Step, Tags
from towerpace.plan.site.drafting import Draft
from towerpace.plan.site.fronts import FIRST
from towerpace.plan.site.leaving import stop_needs
from towerpace.plan.site.numbers import Numbers
from towerpace.scenario.schema import Breakdown, Resource
from towerpace.units import DAY_MIN, HOUR_MIN, Floats, Ints

SPARE_DEVIATIONS = 5.0


@dataclass(frozen=True)
class BreakdownLaw(Law):
    """When the units of one resource fail, and for how long.

    steps : (n_units, n) in the order of the failures. since : first minute on the site. [min]
    absent : (k, 2) [from, to) spans in which nothing can fail, ascending. [min]
    A unit has a stream of its own, so that one unit more changes nothing for the others.
    """

    source: ClassVar[str] = BREAKDOWNS
    name: str
    steps: Ints
    since: int
    absent: Ints
    breakdown: Breakdown

    def apply(self, into: Drawn, streams: Streams, known: Known) -> None:  # noqa: ARG002  nothing is known yet
        """Draw the failures of every unit."""
        n_units, n = self.steps.shape
        lots = np.empty((n_units, n, 3))
        for unit in range(n_units):
            streams(f"breakdown of {self.name} {unit + 1}").random(out=lots[unit])
        into.date[self.steps], into.work[self.steps] = self.failures(lots)

    def failures(self, lots: Floats) -> tuple[Ints, Ints]:
        """Dates and repairs of every unit from uniform numbers, (n_units, n, 3). [min]"""
        every = self.breakdown.every_h.quantile(lots[..., 0])
        repair = self.breakdown.repair_h.quantile(lots[..., 1])
        if self.breakdown.swap_h is not None:
            repair = np.minimum(repair, self.breakdown.swap_h.quantile(lots[..., 2]))
        return self.spread_out(every, repair)

    def spread_out(self, every_h: Floats, repair_h: Floats) -> tuple[Ints, Ints]:
        """Dates of failures and minutes of repair from hours, each (..., n) failures in order. [min]"""
        repair = np.rint(repair_h * HOUR_MIN).astype(np.int64)
        run = np.cumsum(np.rint(every_h * HOUR_MIN).astype(np.int64), axis=-1)
        minutes = self.since + run + np.cumsum(repair, axis=-1) - repair
        for gone, back in self.absent.tolist():
            minutes = np.where(minutes >= gone, minutes + back - gone, minutes)
        return minutes, repair

    def probes(self, plan: PlanArrays, *, until: int) -> Iterator[Probe]:  # noqa: ARG002  one interface
        """Hours in repair."""
        read = partial(_repairs, self.steps.ravel(), until)
        yield Probe(f"hours of {self.name} in repair", self.source, "h", HOUR_MIN, read)


def _repairs(steps: Ints, until: int, drawn: Drawn) -> int:
    return int(drawn.work[steps[drawn.date[steps] < until]].sum())


def failures_within(breakdown: Breakdown, hours: float) -> int:
    """So many failures that the last lies beyond the hours in all but a millionth of the trials. [-]

    Notes
    -----
    The sum of n gaps has mean n m and deviation s sqrt(n): n m - 5 s sqrt(n) >= hours.
    """
    mean = breakdown.every_h.mean()
    lots = (np.arange(1000) + 0.5) / 1000
    deviation = float(np.std(breakdown.every_h.quantile(lots)))
    enough = (n for n in count(1) if n * mean - SPARE_DEVIATIONS * deviation * n**0.5 >= hours)
    return next(enough)


def add_absences(draft: Draft) -> None:
    """Absences of all resources, and the laws of their breakdowns."""
    for name, resource in draft.settings.resource.items():
        comes_back = draft.ask(partial(_which_come_back, name))
        if comes_back:
            for unit in range(1, resource.count + 1):
                for k, back in enumerate(comes_back):
                    _add_absence(draft, name, unit, k, comes_back=back)
        if resource.breakdown is not None and resource.count:
            _Breakdowns(draft, name).add(resource.count)


def _which_come_back(name: str, numbers: Numbers) -> list[bool]:
    return [back is not None for _, back in _spans(name, numbers)]


def _spans(name: str, numbers: Numbers) -> list[tuple[int, int | None]]:
    return list(absences(numbers.settings.resource[name], start=numbers.settings.tower.start))


def absences(resource: Resource, *, start: date) -> Iterator[tuple[int, int | None]]:
    """Spans [from, to) in which the units are not there, ascending; None where they never come back. [min]"""

    def minute(day: date) -> int:
        return (day - start).days * DAY_MIN

    if resource.arrives is not None and resource.arrives > start:
        yield 0, minute(resource.arrives)
    for span in resource.away:
        yield minute(span.from_), minute(span.to) + DAY_MIN
    if resource.leaves is not None:
        yield minute(resource.leaves), None


def _add_absence(draft: Draft, pool: str, unit: int, k: int, *, comes_back: bool) -> None:
    """A unit goes when its job ends and is back at its date, however late it went."""
    tags, name = Tags(kind="absence"), f"{pool} {unit}: absence {k + 1}"
    needs = stop_needs(draft, pool, unit)
    goes = Step(name, needs=needs, keeps=list(needs), rank=FIRST, optional=True, tags=tags)
    draft.add(goes, date=lambda n: _spans(pool, n)[k][0])
    if comes_back:
        over = Step(
            f"{name} over", after=[name], gives=[Give(p, 1, name) for p in needs], optional=True, tags=tags
        )
        draft.add(over, date=lambda n: _spans(pool, n)[k][1] or 0)


class _Breakdowns:
    """Writes the failures of one resource, so many that the last lies beyond the project."""

    def __init__(self, draft: Draft, name: str) -> None:
        self._draft, self._name = draft, name

    def add(self, units: int) -> None:
        """The failures of every unit, each after the repair before it, and their law."""
        n = self._draft.ask(lambda n: failures_within(self._law_of(n).breakdown, self._hours(n)))
        names = [
            [f"{self._name} {unit}: breakdown {k}" for k in range(1, n + 1)] for unit in range(1, units + 1)
        ]
        for unit, failures in enumerate(names, start=1):
            needs = stop_needs(self._draft, self._name, unit)
            for k, name in enumerate(failures):
                step = Step(
                    name,
                    after=failures[k - 1 : k] if k else [],
                    needs=needs,
                    rank=FIRST,
                    optional=True,
                    tags=Tags(kind="breakdown"),
                )
                self._draft.add(step, work=self._repairs, date=self._dates, place=k)
        steps = self._draft.numbers_of(name for failures in names for name in failures).reshape(units, n)
        self._draft.laws.append(partial(self._law, steps))

    def _law(self, steps: Ints, numbers: Numbers) -> Law:
        return self._law_of(numbers, steps)

    def _law_of(self, numbers: Numbers, steps: Ints | None = None) -> BreakdownLaw:
        breakdown = numbers.settings.resource[self._name].breakdown
        assert breakdown is not None, "asked for only where the resource has one"
        gone = [(a, b) for a, b in _spans(self._name, numbers) if b is not None]
        since = gone.pop(0)[1] if gone and gone[0][0] == 0 else 0
        absent = np.array(gone, dtype=np.int64).reshape(-1, 2)
        none = np.zeros((0, 0), dtype=np.int64)
        return BreakdownLaw(self._name, none if steps is None else steps, since, absent, breakdown)

    def _hours(self, numbers: Numbers) -> float:
        """Clock hours in which a unit may fail. [h]"""
        return numbers.settings.tower.horizon_days * 24 - self._law_of(numbers).since / HOUR_MIN

    def _planned(self, numbers: Numbers) -> tuple[Ints, Ints]:
        """Dates and repairs of one unit if everything takes its mean. [min]"""
        law = self._law_of(numbers)
        breakdown, n = law.breakdown, failures_within(law.breakdown, self._hours(numbers))
        means = [breakdown.repair_h.mean(), *([breakdown.swap_h.mean()] if breakdown.swap_h else [])]
        return law.spread_out(np.full(n, breakdown.every_h.mean()), np.full(n, min(means)))

    def _dates(self, numbers: Numbers) -> Ints:
        return self._planned(numbers)[0]

    def _repairs(self, numbers: Numbers) -> Ints:
        return self._planned(numbers)[1]
