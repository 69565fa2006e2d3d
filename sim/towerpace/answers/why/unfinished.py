"""What the unfinished steps of a trial wait for, and whether anything could still have gone on."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from towerpace.draws import Draw
from towerpace.engine.diary import NEVER, Diary
from towerpace.plan.model import NONE, Plan
from towerpace.units import Ints

PREDECESSOR, DATE, LINE, POOL, WINDOW, END = "predecessor", "date", "line", "pool", "window", "end"
KINDS = (PREDECESSOR, DATE, LINE, POOL, WINDOW, END)
_STUCK = (LINE, POOL)


@dataclass(frozen=True)
class Wait:
    """What one unfinished step waits for at the horizon.

    number : predecessor, step ahead in the line, pool or window, as `kind` says; -1 for a date and for a step
    that is under way (`END`). holder : a step that took the pool and has not given it back, -1 if none has.
    """

    step: int
    kind: str
    number: int = -1
    holder: int = -1

    def row(self) -> tuple[int, int, int, int]:
        """As numbers, for an outcome."""
        return self.step, KINDS.index(self.kind), self.number, self.holder


def wait_of(row: Ints) -> Wait:
    """A wait from its row of numbers."""
    step, kind, number, holder = (int(v) for v in row)
    return Wait(step, KINDS[kind], number, holder)


def waits_for(diary: Diary, step: int, *, draw: Draw) -> Wait:
    """What a step that has not ended waits for.

    In the order of the rule by which steps start: predecessors, date, line, first short pool, window.
    Raises `ValueError` for a step that has ended.
    """
    plan = diary.plan
    if diary.finished[step] != NEVER:
        raise ValueError(f"step '{plan.names[step]}' has ended: it waits for nothing")
    if diary.started[step] != NEVER:
        return Wait(step, END)
    missing = [p for p in plan.lists.before[step] if diary.finished[p] == NEVER]
    if missing:
        return Wait(step, PREDECESSOR, missing[0])
    if diary.ready[step] == NEVER:
        return Wait(step, DATE)
    ahead = _ahead_in_line(diary, step)
    if ahead != NONE:
        return Wait(step, LINE, ahead)
    for pool, quantity in plan.lists.needs[step]:
        if _free(diary, draw, pool) < quantity:
            return Wait(step, POOL, pool, _holder(diary, pool))
    return Wait(step, WINDOW, int(plan.window[step]))


def roots(diary: Diary, draw: Draw) -> list[Wait]:
    """Waits of the unfinished steps that no unfinished predecessor holds back; the others wait for these."""
    late = np.flatnonzero((diary.finished == NEVER) & ~diary.plan.optional)
    waits = [waits_for(diary, step, draw=draw) for step in late.tolist()]
    return [wait for wait in waits if wait.kind != PREDECESSOR]


def locked(waits: list[Wait]) -> bool:
    """Whether nothing could have gone on, however long the clock ran: all wait for units that never come."""
    return bool(waits) and all(wait.kind in _STUCK for wait in waits)


def first_few(waits: list[Wait], count: int) -> list[Wait]:
    """The first waits, one for each thing waited for before a second for any."""
    seen: set[tuple[str, int]] = set()
    fresh: list[Wait] = []
    again: list[Wait] = []
    for wait in waits:
        (again if (wait.kind, wait.number) in seen else fresh).append(wait)
        seen.add((wait.kind, wait.number))
    return (fresh + again)[:count]


def in_words(wait: Wait, plan: Plan) -> str:
    """A wait as a sentence."""
    name = plan.names[wait.step]
    if wait.kind == END:
        return f"{name} is under way when the clock ends"
    if wait.kind == DATE:
        return f"{name} waits for its date, beyond the horizon"
    if wait.kind == PREDECESSOR:
        return f"{name} waits for {plan.names[wait.number]}"
    if wait.kind == LINE:
        return f"{name} stands in line behind {plan.names[wait.number]}"
    if wait.kind == WINDOW:
        return f"{name} waits for the hours of '{plan.windows[wait.number].name}'"
    kept = f", kept since {plan.names[wait.holder]}" if wait.holder != NONE else ", of which there is no more"
    return f"{name} waits for {plan.pools.names[wait.number]}{kept}"


def _free(diary: Diary, draw: Draw, pool: int) -> int:
    """Units of a pool that are free at the horizon."""
    plan = diary.plan
    takers = plan.needs.owners
    givers = plan.give_pool.owners
    took = (plan.needs.values == pool) & (diary.started[takers] != NEVER) & ~draw.skip[takers]
    gave = (plan.give_pool.values == pool) & (diary.finished[givers] != NEVER) & ~draw.skip[givers]
    taken = int(plan.quantities.values[took].sum())
    return int(plan.pools.units[pool]) - taken + int(plan.give_quantity.values[gave].sum())


def _holder(diary: Diary, pool: int) -> int:
    plan = diary.plan
    for giver in np.flatnonzero(diary.finished == NEVER).tolist():
        for given, _, taker in plan.lists.gives[giver]:
            if given == pool and taker != NONE and diary.started[taker] != NEVER:
                return int(taker)
    return NONE


def _ahead_in_line(diary: Diary, step: int) -> int:
    """The head of the line a step stands in, if that is another."""
    lists = diary.plan.lists
    line = lists.line[step]
    if line == NONE:
        return NONE
    waiting = np.flatnonzero((diary.ready != NEVER) & (diary.started == NEVER)).tolist()
    ahead = [
        (int(diary.ready[i]) if lists.first_come[i] else 0, lists.rank[i], i)
        for i in waiting
        if lists.line[i] == line
    ]
    head = min(ahead)[2]
    return NONE if head == step else head
