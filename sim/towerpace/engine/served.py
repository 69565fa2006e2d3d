"""Which unit served each step, played again from a diary.

A diary says when a step started, not by which of three cranes: units that are alike are counted. Which one
came follows from the rule by which they are sent: the free unit nearest to the step's place; of those
equally near, and in a pool without places, the one with the lowest number.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from heapq import heapify, heappop, heappush

import numpy as np

from towerpace.draws import Draw, as_planned
from towerpace.engine.diary import NEVER, Diary, Stamps
from towerpace.plan.model import NONE, Plan
from towerpace.units import Flags, Ints

UNSEEN = -1
Key = tuple[int, int, int]
Held = dict[tuple[int, int], list[int]]


@dataclass(frozen=True)
class Served:
    """Units by which steps were served, one row a step, pool and unit, in the order of the steps.

    step : (k,) number of the step. pool : (k,) number of the pool. unit : (k,) number of the unit in its pool
    from 0; -1 where a step that the site has begun took a unit that the trial does not have.
    """

    plan: Plan
    step: Ints
    pool: Ints
    unit: Ints

    def of(self, step: int) -> list[tuple[str, int]]:
        """Pool and number of the unit, from 0, of everything that served a step."""
        first, behind = np.searchsorted(self.step, [step, step + 1])
        rows = zip(self.pool[first:behind].tolist(), self.unit[first:behind].tolist(), strict=True)
        return [(self.plan.pools.names[pool], unit) for pool, unit in rows]


def served(diary: Diary, draw: Draw | None = None) -> Served:
    """Which unit served each step of a trial.

    Parameters
    ----------
    diary : Diary
        The trial, of either engine.
    draw : Draw, optional
        What chance decided in it; by default everything went as planned.

    Examples
    --------
    >>> from towerpace import Plan, Pool, Step, run
    >>> lifts = [Step("first", work=30, needs={"hoist": 1}), Step("second", work=9, needs={"hoist": 1})]
    >>> diary = run(Plan([*lifts, Step("third", work=5, needs={"hoist": 1})], pools=[Pool("hoist", 2)]))
    >>> [served(diary).of(step) for step in range(3)]
    [[('hoist', 0)], [('hoist', 1)], [('hoist', 1)]]
    """
    draw = as_planned(diary.plan) if draw is None else draw
    rows = sorted(_Replay(diary, draw).rows())
    step, pool, unit = np.array(rows, dtype=np.int64).reshape(-1, 3).T
    return Served(diary.plan, step, pool, unit)


class _Units:
    """Units of every pool while a diary is played again: which are free, which are held, where they stand."""

    def __init__(self, plan: Plan) -> None:
        lists = plan.lists
        self._place, self._moves = lists.place, lists.moves
        self._at = [list(at) for at in plan.pools.at]
        self._made: list[int] = plan.pools.units.tolist()
        self._free = [list(range(units)) for units in self._made]
        self._held: Held = {}

    def enough(self, needs: list[tuple[int, int]]) -> bool:
        """Whether everything needed is free."""
        return all(len(self._free[pool]) >= quantity for pool, quantity in needs)

    def take(self, step: int, *, pool: int, quantity: int) -> list[int]:
        """Units sent to the step."""
        units = [self._send(step, pool) for _ in range(quantity)]
        self._held[step, pool] = list(units)
        return units

    def _send(self, step: int, pool: int) -> int:
        free, moves = self._free[pool], self._moves[pool]
        if not free:
            return UNSEEN
        if moves is None or self._place[step] == NONE:
            return heappop(free)
        at, place = self._at[pool], self._place[step]
        nearest = min(free, key=lambda unit: (moves[at[unit]][place], unit))
        free.remove(nearest)
        heapify(free)
        return nearest

    def give(self, pool: int, *, quantity: int, giver: int, taker: int) -> None:
        """Units come back from the taker, or are new where nobody took them."""
        for _ in range(quantity):
            unit = self._new(pool) if taker == NONE else self._held[taker, pool].pop(0)
            if unit == UNSEEN:
                continue
            if self._moves[pool] is not None:
                for step in (taker, giver):
                    if self._place[step] != NONE:
                        self._at[pool][unit] = self._place[step]
            heappush(self._free[pool], unit)

    def _new(self, pool: int) -> int:
        self._made[pool] += 1
        return self._made[pool] - 1


class _Replay:
    """What was taken and given in a trial, in its order: by minute; in it ends first, then turns by keys."""

    def __init__(self, diary: Diary, draw: Draw) -> None:
        plan = diary.plan
        self._lists, self._units = plan.lists, _Units(plan)
        self._skipped: list[bool] = draw.skip.tolist()
        self._pinned = np.zeros(plan.n, bool) if draw.pins is None else draw.pins.began != NEVER
        self._ready: list[int] = diary.ready.tolist()
        at_once = (diary.started == diary.finished) & (diary.started != NEVER)
        takes = np.diff(plan.needs.start) > 0
        self._at_once: list[bool] = at_once.tolist()
        self._starting = _by_minute(diary.started, which=takes | at_once)
        self._ending = _by_minute(diary.finished, which=(np.diff(plan.give_pool.start) > 0) & ~at_once)

    def rows(self) -> Iterator[tuple[int, int, int]]:
        """Step, pool and unit, in the order in which units were taken."""
        for minute in sorted(self._starting.keys() | self._ending.keys()):
            for step in self._ending.get(minute, ()):
                self._give(step)
            yield from self._turns(self._starting.get(minute, []))

    def _turns(self, starting: list[int]) -> Iterator[tuple[int, int, int]]:
        """Serve the steps of one minute; one that lasts no time has ended before the next has its turn."""
        owed = dict.fromkeys(starting, 0)
        for step in starting:
            owed[step] = sum(p in owed and self._at_once[p] for p in self._lists.before[step])
        due = [step for step in starting if owed[step] == 0]
        waiting: list[Key] = []
        while due or waiting:
            if due:
                step = due.pop()
                if self._lists.needs[step] and not self._skipped[step]:
                    heappush(waiting, self._key(step))
                    continue
            else:
                step = self._next(waiting)
                yield from self._take(step)
            if self._at_once[step]:
                self._give(step)
                due += self._released(step, owed)

    def _released(self, step: int, owed: dict[int, int]) -> Iterator[int]:
        """Successors of this minute that waited for this step alone."""
        for j in self._lists.after[step]:
            if j in owed:
                owed[j] -= 1
                if owed[j] == 0:
                    yield j

    def _key(self, step: int) -> Key:
        return (self._ready[step] if self._lists.first_come[step] else 0, self._lists.rank[step], step)

    def _next(self, waiting: list[Key]) -> int:
        """The smallest key that can start now, of one line only the first."""
        lines_seen: set[int] = set()
        for key in sorted(waiting):
            step = key[2]
            line = self._lists.line[step]
            can_start = line not in lines_seen and self._units.enough(self._lists.needs[step])
            if can_start or self._pinned[step]:
                waiting.remove(key)
                heapify(waiting)
                return step
            if line != NONE:
                lines_seen.add(line)
        raise ValueError("the diary is not one of this draw: steps started in it that could not")

    def _take(self, step: int) -> Iterator[tuple[int, int, int]]:
        for pool, quantity in self._lists.needs[step]:
            for unit in self._units.take(step, pool=pool, quantity=quantity):
                yield step, pool, unit

    def _give(self, step: int) -> None:
        if not self._skipped[step]:
            for pool, quantity, taker in self._lists.gives[step]:
                self._units.give(pool, quantity=quantity, giver=step, taker=taker)


def _by_minute(minutes: Stamps, *, which: Flags) -> dict[int, list[int]]:
    """Steps by their minute, in ascending order; those that never came are left out."""
    steps = np.flatnonzero(which & (minutes != NEVER))
    by_minute: dict[int, list[int]] = {}
    for step, minute in zip(steps.tolist(), minutes[steps].tolist(), strict=True):
        by_minute.setdefault(minute, []).append(step)
    return by_minute
