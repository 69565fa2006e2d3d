"""What a site would have shown up to a data date: pins read off the diary of a trial."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from support.dice import Dice
from towerpace import Plan
from towerpace.draws import Draw
from towerpace.engine.diary import NEVER, Diary
from towerpace.engine.openings import Opening, Openings
from towerpace.plan.lists import UNBROKEN, WORK
from towerpace.plan.pins import Pins


def pins_of(diary: Diary, draw: Draw, minute: int) -> Pins:
    """Every step that had begun before a data date, with its end or what was left of it."""
    plan = diary.plan
    openings = Openings(plan.windows, hours=draw.hours, horizon=plan.horizon)
    started, finished = (stamps.astype(np.int64) for stamps in (diary.started, diary.finished))
    seen = (started != NEVER) & (started < minute) & ~draw.skip
    done = seen & (finished != NEVER) & (finished <= minute)
    left = np.full(plan.n, NEVER, dtype=np.int64)
    for step in np.flatnonzero(seen & ~done).tolist():
        end = int(finished[step])
        # What never ends inside the horizon has more left than fits into it.
        left[step] = plan.horizon + 1 if end == NEVER else _left(plan, step, openings, minute, end)
    return Pins(np.where(seen, started, NEVER), np.where(done, finished, NEVER), left, minute)


def _left(plan: Plan, step: int, openings: Openings, minute: int, end: int) -> int:
    mode = int(plan.mode[step])
    if mode == WORK:
        opening = openings[int(plan.window[step])]
        return opening.before(end) - opening.before(minute)
    if mode == UNBROKEN:
        return end - max(minute, _piece_start(openings[int(plan.window[step])], end))
    return end - minute


def _piece_start(opening: Opening, end: int) -> int:
    """Where the open piece begins in which a minute before `end` lies."""
    k = max(i for i, since in enumerate(opening.opens) if since < end)
    while k > 0 and opening.closes[k - 1] == opening.opens[k]:
        k -= 1
    return opening.opens[k]


def forgetful(draw: Draw, pins: Pins, dice: Dice) -> Draw:
    """The draw with nonsense in the place of all that pins say otherwise."""
    pinned = pins.pinned
    nonsense = [np.array([dice.whole(0, 90) for _ in draw.work], dtype=np.int64) for _ in range(2)]
    work, date = (
        np.where(pinned, other, own) for other, own in zip(nonsense, (draw.work, draw.date), strict=True)
    )
    return replace(draw, work=work, date=date, pins=pins)
