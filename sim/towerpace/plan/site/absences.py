"""Units that are not there: before they arrive, when they leave, while they are away or broken down.

Each absence is a step of one unit with the first rank that takes the unit when a job ends: nobody's work is
broken off. Where the pool is served first come, it stands in the order of arrival like everybody.

A failure is two steps: the time from the repair before it, which runs by the clock while the units are on the
site, worked or idle; and then the repair. So a failure that waits for a long job puts the next one off, and
none comes sooner after the repair before it than the least time that is stated. Every unit has
failures of its own, but units are interchangeable: a repair takes the unit whose job ends first, an idle one
at once, whichever of them failed. So while one unit is idle, a failure of the other falls on the idle one.
A job is all that a unit is taken for in one piece: a floor crane that fails works on to the end of its visit.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from functools import lru_cache, partial
from itertools import count
from typing import ClassVar

import numpy as np

from towerpace.plan.arrays import NONE, PlanArrays
from towerpace.plan.chance import BREAKDOWNS, Drawn, Known, Law, Probe, Streams
from towerpace.plan.columns import Handed
from towerpace.plan.lists import ALWAYS, WORK
from towerpace.plan.site.drafting import Draft
from towerpace.plan.site.fronts import FIRST
from towerpace.plan.site.leaving import stop_needs
from towerpace.plan.site.numbers import Numbers
from towerpace.scenario.schema import Breakdown, Resource
from towerpace.units import DAY_MIN, HOUR_MIN, Floats, Ints

SPARE_DEVIATIONS = 5.0
TIME_TO_FAILURE = "time to failure"


@dataclass(frozen=True)
class BreakdownLaw(Law):
    """How long the units of one resource run from one repair to the next failure, and how long repairs take.

    runs, repairs : (n_units, n) steps in the order of the failures. since : first minute on the site. [min]
    absent : (k, 2) [from, to) spans in which nothing can fail, ascending. [min]
    A unit has a stream of its own, so that one unit more changes nothing for the others.
    """

    source: ClassVar[str] = BREAKDOWNS
    name: str
    runs: Ints
    repairs: Ints
    since: int
    absent: Ints
    breakdown: Breakdown

    def apply(self, into: Drawn, streams: Streams, known: Known) -> None:  # noqa: ARG002  nothing is known yet
        """Draw the failures of every unit."""
        n_units, n = self.repairs.shape
        lots = np.empty((n_units, n, 3))
        for unit in range(n_units):
            streams(f"breakdown of {self.name} {unit + 1}").random(out=lots[unit])
        into.work[self.runs], into.work[self.repairs] = self.failures(lots)

    def failures(self, lots: Floats) -> tuple[Ints, Ints]:
        """Minutes up to each failure and of its repair from uniform numbers, (n_units, n, 3). [min]"""
        every = self.breakdown.every_h.quantile(lots[..., 0])
        repair = self.breakdown.repair_h.quantile(lots[..., 1])
        if self.breakdown.swap_h is not None:
            repair = np.minimum(repair, self.breakdown.swap_h.quantile(lots[..., 2]))
        return _minutes(every), _minutes(repair)

    def probes(self, plan: PlanArrays, *, until: int) -> Iterator[Probe]:  # noqa: ARG002  one interface
        """Hours in repair."""
        read = partial(self._in_repair, until)
        yield Probe(f"hours of {self.name} in repair", self.source, "h", HOUR_MIN, read)

    def _in_repair(self, until: int, drawn: Drawn) -> int:
        """Minutes of the repairs begun by then if none had to wait for a job to end: a draw knows no jobs."""
        run, repair = drawn.work[self.runs], drawn.work[self.repairs]
        begun = self.since + np.cumsum(run + repair, axis=-1) - repair
        for gone, back in self.absent.tolist():
            begun = np.where(begun >= gone, begun + back - gone, begun)
        return int(repair[begun < until].sum())


def _minutes(hours: Floats) -> Ints:
    return np.rint(hours * HOUR_MIN).astype(np.int64)


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
    tags, name = draft.tags(kind="absence"), f"{pool} {unit}: absence {k + 1}"
    needs = stop_needs(draft, pool, unit)
    goes = draft.add(
        name,
        needs=needs,
        keeps=needs.pools,
        rank=FIRST,
        optional=True,
        tags=tags,
        date=lambda n: _spans(pool, n)[k][0],
    )
    if comes_back:
        draft.add(
            f"{name} over",
            after=[goes],
            gives=[Handed(needs, goes)],
            optional=True,
            tags=tags,
            date=lambda n: _spans(pool, n)[k][1] or 0,
        )


class _Breakdowns:
    """Writes the failures of one resource, so many that the last lies beyond the project."""

    def __init__(self, draft: Draft, name: str) -> None:
        self._draft, self._name = draft, name
        # Whoever is always there fails by the clock; others only while they are on the site.
        comes_and_goes = draft.ask(lambda n: bool(_spans(name, n)))
        self._window = self._on_the_site() if comes_and_goes else NONE

    def _on_the_site(self) -> int:
        return self._draft.closures.over(f"{self._name} on the site", self._there, limits=(), height_m=0.0)

    def _there(self, numbers: Numbers) -> Ints:
        return _between(tuple(_spans(self._name, numbers)), numbers.horizon)

    def add(self, units: int) -> None:
        """The failures of every unit, each after the repair before it, and their law."""
        n = self._draft.ask(lambda n: failures_within(self._breakdown(n), self._hours(n)))
        steps = [self._failures_of(unit, n) for unit in range(1, units + 1)]
        runs, repairs = np.moveaxis(np.array(steps, dtype=np.int64).reshape(units, n, 2), 2, 0).copy()
        self._draft.laws.append(partial(self._law, runs, repairs))

    def _failures_of(self, unit: int, n: int) -> list[tuple[int, int]]:
        """The steps of the failures of one unit: the time up to each, and the repair."""
        draft, steps, before = self._draft, [], list[int]()
        needs = stop_needs(draft, self._name, unit)
        for k in range(1, n + 1):
            run = draft.add(
                f"{self._name} {unit}: until breakdown {k}",
                after=before,
                window=self._window,
                mode=ALWAYS if self._window == NONE else WORK,
                optional=True,
                tags=draft.tags(kind=TIME_TO_FAILURE),
                work=self._mean_run,
            )
            repair = draft.add(
                f"{self._name} {unit}: breakdown {k}",
                after=[run],
                needs=needs,
                rank=FIRST,
                optional=True,
                tags=draft.tags(kind="breakdown"),
                work=self._mean_repair,
            )
            steps.append((run, repair))
            before = [repair]
        return steps

    def _law(self, runs: Ints, repairs: Ints, numbers: Numbers) -> Law:
        gone = [(a, b) for a, b in _spans(self._name, numbers) if b is not None]
        since = gone.pop(0)[1] if gone and gone[0][0] == 0 else 0
        absent = np.array(gone, dtype=np.int64).reshape(-1, 2)
        return BreakdownLaw(self._name, runs, repairs, since, absent, self._breakdown(numbers))

    def _breakdown(self, numbers: Numbers) -> Breakdown:
        breakdown = numbers.settings.resource[self._name].breakdown
        assert breakdown is not None, "asked for only where the resource has one"
        return breakdown

    def _hours(self, numbers: Numbers) -> float:
        """Clock hours in which a unit may fail. [h]"""
        there = numbers.horizon if self._window == NONE else int(np.diff(self._there(numbers)).sum())
        return there / HOUR_MIN

    def _mean_run(self, numbers: Numbers) -> float:
        return round(self._breakdown(numbers).every_h.mean() * HOUR_MIN)

    def _mean_repair(self, numbers: Numbers) -> float:
        breakdown = self._breakdown(numbers)
        swap = [] if breakdown.swap_h is None else [breakdown.swap_h.mean()]
        return round(min([breakdown.repair_h.mean(), *swap]) * HOUR_MIN)


@lru_cache(maxsize=64)
def _between(spans: tuple[tuple[int, int | None], ...], horizon: int) -> Ints:
    """Spans [from, to) of the project outside some spans, (n, 2), the same array for the same ones. [min]"""
    gone = [min(a, horizon) for a, _ in spans]
    back = [horizon if b is None else min(b, horizon) for _, b in spans]
    there = zip([0, *back], [*gone, horizon], strict=True)
    return np.array([(a, b) for a, b in there if a < b], dtype=np.int64).reshape(-1, 2)
