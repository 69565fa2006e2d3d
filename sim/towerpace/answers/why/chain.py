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


def _pool_between(diary: Diary, giver: int, step: int) -> int:
    """The first pool the step needs that its enabler gave, if it started by that and not as a predecessor."""
    plan = diary.plan
    if giver in plan.lists.before[step] and diary.finished[giver] == diary.ready[step]:
        return -1
    given = {pool for pool, _, _ in plan.lists.gives[giver]}
    return next((pool for pool, _ in plan.lists.needs[step] if pool in given), -1)
