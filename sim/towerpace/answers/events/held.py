"""Who is there while a step is done: units that the step takes itself, and those its visit keeps."""

from __future__ import annotations

from collections import defaultdict

import numpy as np

from towerpace.plan.arrays import NONE
from towerpace.plan.model import Plan

Hold = tuple[int, int]  # the step that took units, and their pool


def holds_of(plan: Plan) -> dict[int, list[Hold]]:
    """For every step the holds of earlier steps that it lies in.

    A hold goes from the step that takes units to the one that gives them back. Inside lies what comes after
    the first, before the second, and is of the same trade on the same front: the lifts between moving in and
    the last panel, and not the lining that happens to follow a crate.
    """
    groups: defaultdict[tuple[int, int], list[int]] = defaultdict(list)
    columns = (plan.give_taker.owners, plan.give_taker.values, plan.give_pool.values)
    for giver, taker, pool in zip(*(column.tolist() for column in columns), strict=True):
        if taker not in (NONE, giver):
            groups[taker, giver].append(pool)
    front = _fronts(plan)
    inside: defaultdict[int, list[Hold]] = defaultdict(list)
    for (taker, giver), pools in groups.items():
        for step in _between(plan, taker, giver, front):
            inside[step] += [(taker, pool) for pool in dict.fromkeys(pools)]
    return dict(inside)


def _fronts(plan: Plan) -> list[int]:
    """A number for the trade, level and zone of every step."""
    known: dict[tuple[str, int | None, str], int] = {}
    numbers = [known.setdefault((t.trade, t.level, t.zone), len(known)) for t in plan.tag_table]
    of_step: list[int] = np.array(numbers, dtype=np.int64)[plan.tag_of].tolist()
    return of_step


def _between(plan: Plan, taker: int, giver: int, front: list[int]) -> set[int]:
    """Steps after the taker up to the giver, of the taker's trade and front."""
    before, here = plan.lists.before, front[taker]
    ahead, waiting = {taker}, [taker]
    while waiting:
        for step in plan.lists.after[waiting.pop()]:
            if step not in ahead and front[step] == here:
                ahead.add(step)
                waiting.append(step)
    back, waiting = set[int](), [giver]
    while waiting:
        step = waiting.pop()
        if step not in back and step in ahead and step != taker:
            back.add(step)
            waiting += before[step]
    return back
