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

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property, lru_cache, partial
from itertools import count
from typing import ClassVar

import numpy as np

from towerpace.lots.streams import Streams
from towerpace.plan.arrays import NONE, PlanArrays
from towerpace.plan.chance import BREAKDOWNS, Drawn, Known, Law, MadeOnce, Probe
from towerpace.plan.columns import Handed
from towerpace.plan.lists import ALWAYS, WORK
from towerpace.plan.site.drafting import Draft
from towerpace.plan.site.failures_seen import OwnFailures, StillToFail
from towerpace.plan.site.fronts import FIRST, gone_step
from towerpace.plan.site.leaving import stop_needs
from towerpace.plan.site.logistics import first_place
from towerpace.plan.site.numbers import Numbers
from towerpace.plan.site.presence import absences, alike
from towerpace.plan.site.sequence import Precedence
from towerpace.scenario.schema import Breakdown
from towerpace.scenario.spread_rows import Row, Run
from towerpace.units import HOUR_MIN, Flags, Floats, Ints

SPARE_DEVIATIONS = 5.0
TIME_TO_FAILURE = "time to failure"
LOTS = 3  # of a failure: when, how long the repair takes, how long until a spare has taken over


@dataclass(frozen=True)
class BreakdownLaw(MadeOnce, Law):
    """How long the units of one resource run from one repair to the next failure, and how long repairs take.

    runs, repairs : (n_units, n) steps in the order of the failures.
    since : (n_units,) first minute of each unit on the site. [min]
    absent : for each unit (k, 2) [from, to) spans in which it cannot fail, ascending. [min]
    by_clock : (n_units,) whether its time to a failure runs without any window.
    A unit has a stream of its own, so that one unit more changes nothing for the others.
    """

    source: ClassVar[str] = BREAKDOWNS
    name: str
    runs: Ints
    repairs: Ints
    since: Ints
    absent: tuple[Ints, ...]
    by_clock: Flags
    breakdown: Breakdown

    def apply(self, into: Drawn, streams: Streams, known: Known) -> None:
        """Draw the failures of every unit; what nobody has told of those before today is over."""
        runs, repairs = self.failures(streams)
        if known.seen is not None:
            still = StillToFail(known.seen, self.breakdown)
            for unit in range(len(runs)):
                gone = self.absent[unit].clip(max=known.seen.failures_over)
                own = OwnFailures(self.runs[unit], self.repairs[unit], int(self.since[unit]), gone)
                lots = streams(self._stream(unit)).random((runs.shape[1], LOTS))
                still.settle(own, runs[unit], repairs[unit], lots, by_clock=bool(self.by_clock[unit]))
        into.work[..., self.runs], into.work[..., self.repairs] = runs, repairs

    def takes_many(self, known: Known) -> bool:
        """Until the site has shown something."""
        return known.seen is None

    def failures(self, streams: Streams) -> tuple[Ints, Ints]:
        """Minutes up to each failure and of its repair, (..., n_units, n). [min]"""
        lots = self._row.drawn(streams)
        lots = lots.reshape(*lots.shape[:-1], -1, *self.runs.shape)
        every, repair, *swap = np.moveaxis(lots, -3, 0)
        if swap:
            repair = np.minimum(repair, swap[0])
        return _minutes(every), _minutes(repair)

    @cached_property
    def _row(self) -> Row:
        """Hours up to every failure of all units, then of the repairs, then until a spare takes over."""
        n_units, n = self.runs.shape
        spreads = (self.breakdown.every_h, self.breakdown.repair_h, self.breakdown.swap_h)
        return Row(
            [
                Run(LOTS * np.arange(n) + k, spread, self._stream(unit))
                for k, spread in enumerate(spreads)
                if spread is not None
                for unit in range(n_units)
            ]
        )

    def _stream(self, unit: int) -> str:
        return f"breakdown of {self.name} {unit + 1}"

    def probes(self, plan: PlanArrays, *, until: int) -> Iterator[Probe]:  # noqa: ARG002  one interface
        """Hours in repair."""
        read = partial(self._in_repair, until)
        yield Probe(f"hours of {self.name} in repair", self.source, "h", HOUR_MIN, read)

    def _in_repair(self, until: int, drawn: Drawn) -> int:
        """Minutes of the repairs begun by then if none had to wait for a job to end: a draw knows no jobs."""
        run, repair = drawn.work[self.runs], drawn.work[self.repairs]
        begun = self.since[:, None] + np.cumsum(run + repair, axis=-1) - repair
        for own, absent in zip(begun, self.absent, strict=True):
            for gone, back in absent.tolist():
                own[own >= gone] += back - gone
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
    least = max(1, math.floor(hours / mean))  # fewer are too few, whatever the deviation
    enough = (n for n in count(least) if n * mean - SPARE_DEVIATIONS * deviation * n**0.5 >= hours)
    return next(enough)


def add_absences(draft: Draft, order: Precedence) -> None:
    """Absences of all resources, and the laws of their breakdowns."""
    for name, resource in draft.settings.resource.items():
        for unit, kinds in enumerate(draft.ask(partial(_kinds, name)), start=1):
            for k, (from_start, comes_back) in enumerate(kinds):
                stands = _first_place(draft, order, name, unit) if from_start else None
                _add_absence(draft, name, unit, k, comes_back=comes_back, stands=stands)
        if resource.breakdown is not None and resource.count:
            _Breakdowns(draft, name).add(resource.count)


def _kinds(name: str, numbers: Numbers) -> list[list[tuple[bool, bool]]]:
    """Of each absence of each unit, whether from the first minute, and whether it comes back; [] if none."""
    units = range(1, numbers.settings.resource[name].count + 1)
    kinds = [
        [(gone == 0, back is not None) for gone, back in absences(numbers, name, unit)] for unit in units
    ]
    return kinds if any(kinds) else []


def _first_place(draft: Draft, order: Precedence, name: str, unit: int) -> str | None:
    """Where a floor crane stands at first, so that it is this one that is not there yet."""
    crane = draft.settings.crane
    return first_place(order.fronts, unit) if crane is not None and crane.resource == name else None


def _add_absence(draft: Draft, pool: str, unit: int, k: int, *, comes_back: bool, stands: str | None) -> None:
    """A unit goes when its job ends and is back at its date, however late it went."""
    tags, name = draft.tags(kind="absence"), f"{pool} {unit}: absence {k + 1}"
    needs = stop_needs(draft, pool, unit)
    goes = draft.add(
        name,
        key=None if comes_back else gone_step(pool, unit),
        needs=needs,
        keeps=needs.pools,
        rank=FIRST,
        stands=stands,
        optional=True,
        tags=tags,
        date=lambda n: absences(n, pool, unit)[k][0],
    )
    if comes_back:
        draft.add(
            f"{name} over",
            after=[goes],
            gives=[Handed(needs, goes)],
            optional=True,
            tags=tags,
            date=lambda n: absences(n, pool, unit)[k][1] or 0,
        )


class _Breakdowns:
    """Writes the failures of one resource, so many that the last lies beyond the project."""

    def __init__(self, draft: Draft, name: str) -> None:
        self._draft, self._name = draft, name
        self._alike = alike(draft.settings.resource[name])

    def _window(self, unit: int) -> int:
        """Whoever is always there fails by the clock; others only while they are on the site."""
        if not self._draft.ask(lambda n: bool(absences(n, self._name, unit))):
            return NONE
        of = self._name if unit <= self._alike else f"unit {unit} of {self._name}"
        return self._draft.closures.over(
            f"{of} on the site", partial(self._there, unit), limits=(), height_m=0.0
        )

    def _there(self, unit: int, numbers: Numbers) -> Ints:
        return _between(tuple(absences(numbers, self._name, unit)), numbers.horizon)

    def add(self, units: int) -> None:
        """The failures of every unit, each after the repair before it, and their law."""
        n = self._draft.ask(lambda n: failures_within(self._breakdown(n), self._hours(n, units)))
        self._draft.make_room(2 * n * units, "resource", self._name, "breakdown")
        steps = [self._failures_of(unit, n) for unit in range(1, units + 1)]
        runs, repairs = np.moveaxis(np.array(steps, dtype=np.int64).reshape(units, n, 2), 2, 0).copy()
        self._draft.laws.append(partial(self._law, runs, repairs))

    def _failures_of(self, unit: int, n: int) -> list[tuple[int, int]]:
        """The steps of the failures of one unit: the time up to each, and the repair."""
        draft, steps, before = self._draft, [], list[int]()
        needs, window = stop_needs(draft, self._name, unit), self._window(unit)
        for k in range(1, n + 1):
            run = draft.add(
                f"{self._name} {unit}: until breakdown {k}",
                after=before,
                window=window,
                mode=ALWAYS if window == NONE else WORK,
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
        since, absent = [], []
        for unit in range(1, len(runs) + 1):
            gone = [(a, b) for a, b in absences(numbers, self._name, unit) if b is not None]
            since.append(gone.pop(0)[1] if gone and gone[0][0] == 0 else 0)
            absent.append(np.array(gone, dtype=np.int64).reshape(-1, 2))
        always = [not absences(numbers, self._name, unit) for unit in range(1, len(runs) + 1)]
        return BreakdownLaw(
            self._name,
            runs,
            repairs,
            np.array(since, dtype=np.int64),
            tuple(absent),
            np.array(always, dtype=np.bool_),
            self._breakdown(numbers),
        )

    def _breakdown(self, numbers: Numbers) -> Breakdown:
        breakdown = numbers.settings.resource[self._name].breakdown
        assert breakdown is not None, "asked for only where the resource has one"
        return breakdown

    def _hours(self, numbers: Numbers, units: int) -> float:
        """Clock hours in which the unit that is there longest may fail. [h]"""
        there = (np.diff(self._there(unit, numbers)).sum() for unit in range(1, units + 1))
        return int(max(there)) / HOUR_MIN

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
