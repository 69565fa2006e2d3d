"""What could be added: single units, units that one job takes together, pairs, and candidates of the file."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

from towerpace.answers.choice.lab import counts_of
from towerpace.answers.why.explain import ExplanationDetail
from towerpace.scenario.complaints import dotted
from towerpace.scenario.schema import PanelTrade
from towerpace.scenario.setups import SetUp, changed, flattened

PAIRS = 15


@dataclass(frozen=True)
class Option:
    """Something that could be added or taken away, and the set-up it makes.

    resource, change : what is added to, and by how much; of a candidate its name, and the keys it changes.
    units : added, by resource; empty for a candidate. is_candidate : whether it is a [candidate.NAME] of the
    scenario. note : what the scenario says of it.
    """

    resource: str
    change: str
    setup: SetUp
    units: Mapping[str, int]
    is_candidate: bool = False
    note: str = ""

    @property
    def name(self) -> str:
        """What people call it."""
        return self.resource if self.is_candidate else f"{self.resource} {self.change}"

    @property
    def size(self) -> int:
        """Units added, 1 for a candidate: what its gain is divided by."""
        return max(1, sum(self.units.values()))

    def holds(self, other: Option) -> bool:
        """Whether it adds all that another adds, and more."""
        more = all(self.units.get(name, 0) >= n for name, n in other.units.items())
        return more and bool(other.units) and self.size > other.size


def with_units(at: SetUp, units: Mapping[str, int]) -> Option:
    """Units added to a set-up, or taken away."""
    counts = counts_of(at)
    *first, last = units
    names = f"{', '.join(first)} and {last}" if first else last
    numbers = [f"{n:+d}" for n in units.values()]
    alike = numbers[0] + (" each" if first else "")
    change = alike if len(set(numbers)) == 1 else " and ".join(numbers)
    changes = {dotted(("resource", name, "count")): counts[name] + n for name, n in units.items()}
    return Option(names, change, changed(at.scenario, f"{names} {change}", changes), dict(units))


def candidates(base: SetUp) -> Iterator[Option]:
    """Every [candidate.NAME] of the scenario."""
    for name, table in base.scenario.settings.candidate.items():
        changes = flattened(table)
        said = ", ".join(f"{key} = {_as_written(value)}" for key, value in changes.items())
        setup = changed(base.scenario, f"{name} {said}", changes)
        yield Option(name, said, setup, {}, is_candidate=True, note=str(table.get("note", "")))


def _as_written(value: object) -> str:
    """A value as it stands in a scenario file."""
    return json.dumps(value, ensure_ascii=False, default=str)


@dataclass(frozen=True)
class WaitedFor:
    """What somebody was short of in some trials of the base.

    short_h : hours short of each resource, mean of the trials. jobs : what those steps take at once that
    were short of something: resources with their units.
    """

    short_h: Mapping[str, float]
    jobs: tuple[Mapping[str, int], ...]
    trials: int

    @property
    def resources(self) -> tuple[str, ...]:
        """Every resource of a job that waited, the longest waited for first.

        A step that is short of several things counts as waiting for the first; what else it takes may be
        short as well, and often is as soon as the first is there.
        """
        names = dict.fromkeys(name for job in self.jobs for name in job)
        return tuple(sorted(names, key=lambda name: -self.short_h.get(name, 0.0)))


def waited_for(base: SetUp, why: ExplanationDetail) -> WaitedFor:
    """What somebody was short of in the trials of an explanation of the base."""
    plan, counts = why.ready.tower.plan, counts_of(base)
    names, moved = plan.pools.names, plan.pools.moves
    short_h = {n: float(h) for n, h in zip(names, why.short_h.tolist(), strict=True) if n in counts}
    # Whoever moves from place to place may be nearer with one more, though nobody waits for it.
    wanted = {n for n, moves in zip(names, moved, strict=True) if moves is not None and n in counts}
    wanted |= {n for n, hours in short_h.items() if hours > 0}
    jobs = [*_jobs_of_steps(plan.lists.needs, names, counts), *_jobs_of_panels(base)]
    waiting = {tuple(sorted(job.items())): job for job in jobs if wanted & set(job)}
    return WaitedFor(short_h, tuple(waiting.values()), why.trials)


def _jobs_of_steps(
    needs: Iterable[Iterable[tuple[int, int]]], names: Sequence[str], counts: Mapping[str, int]
) -> Iterator[dict[str, int]]:
    """What the steps of a plan take at once, every kind of job once."""
    for kind in dict.fromkeys(tuple(step) for step in needs):
        job = {names[pool]: n for pool, n in kind if names[pool] in counts}
        if job:
            yield job


def _jobs_of_panels(base: SetUp) -> Iterator[dict[str, int]]:
    """A panel front as one job: its gang, the crane, and the hoist that feeds them."""
    settings = base.scenario.settings
    for trade in settings.trade.values():
        if isinstance(trade, PanelTrade) and settings.crane is not None:
            job = {**trade.needs, settings.crane.resource: 1}
            yield job
            if settings.hoist is not None:
                yield {settings.crane.resource: 1, settings.hoist.resource: 1}
                yield {**job, settings.hoist.resource: 1}


def singles(at: SetUp, waited: WaitedFor) -> list[Option]:
    """One more of everything that may be short, or as many as the smallest job takes at once."""
    least: dict[str, int] = {}
    for job in waited.jobs:
        for name, n in job.items():
            least[name] = min(least.get(name, n), n)
    wanted = [{name: 1} for name in waited.resources]
    wanted += [{name: least[name]} for name in waited.resources if least[name] > 1]
    return [with_units(at, units) for units in wanted]


def bundles(at: SetUp, waited: WaitedFor) -> list[Option]:
    """Units that one job takes together, then pairs of what is waited for longest."""
    wanted = [job for job in waited.jobs if len(job) > 1]
    pairs = [dict.fromkeys(sorted(pair), 1) for pair in combinations(waited.resources, 2)]
    known = {tuple(sorted(job.items())): job for job in wanted}
    for pair in pairs[:PAIRS]:
        known.setdefault(tuple(sorted(pair.items())), pair)
    return [with_units(at, units) for units in known.values()]


def least_needed(base: SetUp) -> dict[str, int]:
    """Units of every resource that some job takes at once or that have days of their own, the least."""
    settings = base.scenario.settings
    tasks = (*settings.trade.values(), *settings.method.values(), *settings.activity.values())
    jobs = [task.needs for task in tasks]
    if settings.water_test is not None:
        jobs.append(settings.water_test.needs)
    if settings.delivery is not None:
        jobs.append(settings.delivery.unload_needs)
    if settings.crane is not None:
        jobs.append(settings.crane.level_move_needs)
    least = {name: sum(own.units for own in r.unit) for name, r in settings.resource.items()}
    for needs in jobs:
        for name, count in needs.items():
            least[name] = max(least.get(name, 0), count)
    return least
