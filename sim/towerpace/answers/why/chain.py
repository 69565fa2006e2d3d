"""The controlling chain of one trial: what held the finish, link by link, back to a date or the start.

Each link is a step; the link before it is the step that let it start (its enabler). The end of the chain
is the last step that is not optional. Work, gaps and the first step's ready add up to the finish exactly.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from towerpace.engine.diary import Diary

# What the time before the first link goes into.
DATE_CAUSE, LATER_CAUSE = "not before its date", "later than its date"


@dataclass(frozen=True)
class Link:
    """One step of the chain.

    since : end of the link before it; for the first link, the step's own ready. [min]
    pool : pool over which the link before it let it start, -1 for a predecessor or a date.
    """

    step: int
    since: int
    started: int
    finished: int
    pool: int


def chain(diary: Diary) -> list[Link]:
    """Links from the first to the last; empty if some step never ended, or if all are optional.

    The chain of a trial that did not finish has no end: nothing is made up for it.
    """
    if diary.finish is None or diary.plan.optional.all():
        return []
    needed = np.where(diary.plan.optional, -1, diary.finished)
    at = int(len(needed) - 1 - np.argmax(needed[::-1]))  # of one minute, the highest number
    links = []
    while True:
        enabler = int(diary.enabler[at])
        since = int(diary.finished[enabler]) if enabler >= 0 else int(diary.ready[at])
        pool = _pool_between(diary, enabler, at) if enabler >= 0 else -1
        links.append(Link(at, since, int(diary.started[at]), int(diary.finished[at]), pool))
        if enabler < 0:
            return links[::-1]
        at = enabler


def equally_long(diary: Diary, links: list[Link]) -> list[int]:
    """Steps that last and stand on another chain as long as this one; the engine names one of equal enablers.

    A step that waited for its predecessors may owe its start to any that ended in that minute; one that
    waited for a pool owes it to whom the rule says.
    """
    if not links:
        return []
    plan, finished, seen = diary.plan, diary.finished, {link.step for link in links}
    own = set(seen)
    waiting = np.flatnonzero(~plan.optional & (finished == links[-1].finished)).tolist() + list(own)
    while waiting:
        step = waiting.pop()
        seen.add(step)
        enabler, ready = int(diary.enabler[step]), int(diary.ready[step])
        before = [enabler] if enabler >= 0 else []
        if enabler < 0 or _pool_between(diary, enabler, step) < 0:
            before += [p for p in plan.lists.before[step] if finished[p] == ready]
        waiting += [p for p in before if p not in seen]
    return sorted(step for step in seen - own if finished[step] > diary.started[step])


def _pool_between(diary: Diary, giver: int, step: int) -> int:
    """The first pool the step needs that its enabler gave, if it started by that and not as a predecessor."""
    plan = diary.plan
    if giver in plan.lists.before[step] and diary.finished[giver] == diary.ready[step]:
        return -1
    given = {pool for pool, _, _ in plan.lists.gives[giver]}
    return next((pool for pool, _ in plan.lists.needs[step] if pool in given), -1)
