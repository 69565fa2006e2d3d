"""What may happen on a site in the weeks ahead, as groups of steps: fronts, what they wait for, promises."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import ceil

import numpy as np

from towerpace.plan.model import NONE
from towerpace.plan.site.fronts import DELIVERY, HOISTING
from towerpace.plan.site.tower import Tower
from towerpace.record.places_steps import steps_of
from towerpace.record.promises import PROMISED, Promise
from towerpace.record.resolve import Past
from towerpace.record.step_index import index_of
from towerpace.record.words import CRATES_UP, HANDOVER, TRUCKS_IN, Place, Words
from towerpace.units import Flags, Ints

GANG = "first day of"
_ALMOST = 1e-9  # what rounding leaves of a share


@dataclass(frozen=True)
class Groups:
    """Some groups of steps, one behind the other.

    steps : of all groups. first : where each group begins, (n_groups,).
    """

    steps: Ints
    first: Ints

    @classmethod
    def of(cls, groups: Sequence[Sequence[int]]) -> Groups:
        """Groups of at least one step each."""
        sizes = np.array([len(group) for group in groups], dtype=np.int64)
        steps = np.concatenate([np.asarray(group, dtype=np.int64) for group in groups] or [np.zeros(0, int)])
        return cls(steps.astype(np.int64), np.cumsum(sizes) - sizes)

    def least(self, minutes: Ints) -> Ints:
        """The smallest value of each group, (n_groups,). minutes : (n,) of all steps."""
        return self._reduced(np.minimum, minutes)

    def most(self, minutes: Ints) -> Ints:
        """The greatest value of each group, (n_groups,)."""
        return self._reduced(np.maximum, minutes)

    def _reduced(self, how: np.ufunc, minutes: Ints) -> Ints:
        if not len(self.first):
            return np.zeros(0, dtype=np.int64)
        reduced: Ints = how.reduceat(minutes[self.steps], self.first)
        return reduced


@dataclass(frozen=True)
class Need:
    """Something that must be there before work can go on.

    what : handover, crates_up, trucks_in, or the first day of a trade. steps : which consume it.
    """

    what: str
    level: int | None
    zone: str
    steps: tuple[int, ...]


def open_places(words: Words, tower: Tower, past: Past) -> dict[Place, list[int]]:
    """Places of work that is not done at the data date, with their steps."""
    index = index_of(tower.plan)
    places = [place for place in words.totals if words.words[place.what].how in PROMISED]
    steps = {place: found for place in places if (found := steps_of(place, tower, index))}
    return {place: own for place, own in steps.items() if (past.ended[own] == NONE).any()}


def needs(words: Words, tower: Tower, past: Past) -> Iterator[Need]:
    """What has to be there: from the structure, from the supply, and gangs that come for the first time."""
    plan, index = tower.plan, index_of(tower.plan)
    waiting = past.begun == NONE
    for level, step in zip(tower.levels, tower.handover.tolist(), strict=True):
        consumers = _work_after(tower, [step], waiting, trades=tower.trades)
        if past.ended[step] == NONE and consumers:
            yield Need(HANDOVER, level, "", consumers)
    for what, trades in ((CRATES_UP, tower.trades), (TRUCKS_IN, (HOISTING,))):
        for place in words.places_of(what):
            coming = [step for step in steps_of(place, tower, index) if past.ended[step] == NONE]
            consumers = _work_after(tower, coming, waiting, trades=trades)
            if consumers:
                yield Need(what, place.level, place.zone, consumers)
    row = {trade: k for k, trade in enumerate(tower.trades)}
    rows = plan.by_tags(lambda tags: row.get(tags.trade, NONE))
    for trade, k in row.items():
        own = np.flatnonzero((rows == k) & plan.planned)
        if len(own) and waiting[own].all():
            yield Need(f"{GANG} {trade}", None, "", tuple(own.tolist()))


def _work_after(
    tower: Tower, steps: Sequence[int], waiting: Flags, *, trades: Sequence[str]
) -> tuple[int, ...]:
    """Planned steps of some trades that follow some steps and have not begun.

    Between them may lie what is done with a delivery before it is taken on.
    """
    plan, met, front = tower.plan, set(steps), list(steps)
    while front:
        after = {j for j in plan.after[front.pop()].tolist() if plan.planned[j]} - met
        met |= after
        front += [j for j in after if plan.tags(j).trade == DELIVERY]
    return tuple(sorted(j for j in met.difference(steps) if waiting[j] and plan.tags(j).trade in trades))


@dataclass(frozen=True)
class Due:
    """What must be done for a promise to be kept.

    steps : in the order in which they are done. last_share : how much of the last one. [-]
    """

    steps: tuple[int, ...]
    last_share: float

    def done(self, started: Ints, finished: Ints, *, never: int) -> int:
        """The minute at which it is done in a trial, `never` if that never comes.

        Of a step of which a part is promised, that part of its time. started, finished : (n,). [min]
        """
        last = self.steps[-1]
        ends = [int(finished[step]) for step in self.steps[:-1]]
        since, until = int(started[last]), int(finished[last])
        part = never if never in (since, until) else since + ceil(self.last_share * (until - since))
        return max([*ends, part])


def due_of(promise: Promise, words: Words, tower: Tower) -> Due:
    """What must be done for a promise to be kept."""
    own = steps_of(promise.place, tower, index_of(tower.plan))
    if promise.amount.whole:
        return Due(tuple(own), 1.0)
    position = promise.amount.units / words.totals[promise.place] * len(own)
    count = max(1, ceil(position - _ALMOST))
    return Due(tuple(own[:count]), min(1.0, position - (count - 1)))
