"""Units that are not there: before they arrive, when they leave, while they are away or broken down.

Each absence is a step of one unit with the first rank that takes the unit when a job ends: nobody's work is
broken off. Where the pool is served first come, it stands in the order of arrival like everybody.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from itertools import count

import numpy as np
from numpy.typing import NDArray

from towerpace.plan.laws import Drawn, Streams
from towerpace.plan.parts import Give, Step, Tags
from towerpace.plan.site.crates import FIRST
from towerpace.plan.site.drafting import Draft
from towerpace.plan.site.shifts import DAY_MIN
from towerpace.scenario.schema import Breakdown, Resource, Settings

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
HOUR_MIN = 60
SPARE_DEVIATIONS = 5.0


@dataclass(frozen=True)
class BreakdownLaw:
    """When the units of one resource fail, and for how long.

    steps : (n_units, n) in the order of the failures. since : first minute on the site. [min]
    absent : (k, 2) [from, to) spans in which nothing can fail, ascending. [min]
    A unit has a stream of its own, so that one unit more changes nothing for the others.
    """

    name: str
    steps: Ints
    since: int
    absent: Ints
    breakdown: Breakdown

    def apply(self, into: Drawn, streams: Streams) -> None:
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


def add_absences(draft: Draft, settings: Settings) -> None:
    """Absences of all resources, and the laws of their breakdowns."""
    for name, resource in settings.resource.items():
        absent = list(absences(resource, start=settings.tower.start))
        for unit in range(1, resource.count + 1):
            for k, (since, until) in enumerate(absent, start=1):
                _add_absence(draft, name, f"{name} {unit}: absence {k}", since=since, until=until)
        if resource.breakdown is not None and resource.count:
            _add_breakdowns(draft, name, resource, settings=settings)


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


def _add_absence(draft: Draft, pool: str, name: str, *, since: int, until: int | None) -> None:
    """A unit goes when its job ends and is back at its date, however late it went."""
    tags = Tags(kind="absence")
    goes = Step(name, date=since, needs={pool: 1}, keeps=[pool], rank=FIRST, optional=True, tags=tags)
    draft.add(goes)
    if until is not None:
        gives = [Give(pool, 1, goes.name)]
        draft.add(Step(f"{name} over", date=until, after=[name], gives=gives, optional=True, tags=tags))


def _add_breakdowns(draft: Draft, name: str, resource: Resource, *, settings: Settings) -> None:
    breakdown = resource.breakdown
    assert breakdown is not None, "asked for only where the resource has one"
    spans = list(absences(resource, start=settings.tower.start))
    gone = [(a, b) for a, b in spans if b is not None]
    since = gone.pop(0)[1] if gone and gone[0][0] == 0 else 0
    n = failures_within(breakdown, settings.tower.horizon_days * 24 - since / HOUR_MIN)
    empty = np.zeros((resource.count, n), dtype=np.int64)
    absent = np.array(gone, dtype=np.int64).reshape(-1, 2)
    plan = BreakdownLaw(name, empty, since, absent, breakdown)
    means = [breakdown.repair_h.mean(), *([breakdown.swap_h.mean()] if breakdown.swap_h else [])]
    dates, repairs = plan.spread_out(np.full(n, breakdown.every_h.mean()), np.full(n, min(means)))
    names = [
        _failures_of(draft, name, unit, dates=dates.tolist(), repairs=repairs.tolist())
        for unit in range(1, resource.count + 1)
    ]

    def law(index: dict[str, int]) -> BreakdownLaw:
        steps = np.array([[index[step] for step in unit] for unit in names], dtype=np.int64)
        return BreakdownLaw(name, steps, since, absent, breakdown)

    draft.laws.append(law)


def _failures_of(draft: Draft, pool: str, unit: int, *, dates: list[int], repairs: list[int]) -> list[str]:
    """Failures of one unit, each after the repair before it."""
    names: list[str] = []
    for k, (minute, repair) in enumerate(zip(dates, repairs, strict=True), start=1):
        step = Step(
            f"{pool} {unit}: breakdown {k}",
            work=repair,
            date=minute,
            after=names[-1:],
            needs={pool: 1},
            rank=FIRST,
            optional=True,
            tags=Tags(kind="breakdown"),
        )
        names.append(draft.add(step))
    return names
