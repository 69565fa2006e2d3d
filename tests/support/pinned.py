"""What a site would have shown up to a data date: pins read off the diary of a trial, and wild ones."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from support.dice import Dice
from support.naive import run_naively
from support.random_plans import random_case
from towerpace import Plan, run
from towerpace.draws import Draw
from towerpace.engine.diary import NEVER, Diary
from towerpace.engine.openings import Opening, Openings
from towerpace.plan.lists import UNBROKEN, WORK
from towerpace.plan.pins import Pins, resumed

ENGINES = ("reference", "compiled")
STAMPS = ("ready", "started", "finished", "enabler")


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


def unlike_itself(diary: Diary, draw: Draw, minute: int, dice: Dice) -> list[str]:
    """Where a trial pinned to its own diary and run on from a minute is another; nowhere, if all is well.

    All that pins say otherwise is nonsense in its draw. Both engines must give the start and the end of every
    step again, and the same as each other of all four stamps.
    """
    pins = pins_of(diary, draw, minute)
    told, plan = forgetful(draw, pins, dice), resumed(diary.plan, minute)
    played = {engine: run(plan, told, engine=engine) for engine in ENGINES}
    faults = [
        f"{engine}: {stamps}"
        for engine, again in played.items()
        for stamps in ("started", "finished")
        if not np.array_equal(getattr(again, stamps), getattr(diary, stamps))
    ]
    return faults + _unlike(played["reference"], played["compiled"])


def wild_record(dice: Dice) -> tuple[Plan, Draw]:
    """Pins that keep the order of a random plan, and no pool and no window."""
    plan, draw = random_case(dice)
    minute = dice.whole(2, 30)
    began, ended, left = (np.full(plan.n, NEVER, dtype=np.int64) for _ in range(3))
    for step in plan.order.tolist():
        before = [p for p in plan.before[step].tolist() if not draw.skip[p]]
        since = max((int(ended[p]) for p in before), default=0)
        late = any(ended[p] == NEVER for p in before) or since >= minute
        if draw.skip[step] or late or dice.whole(0, 3) == 0:
            continue
        began[step] = dice.whole(since, minute - 1)
        if dice.coin():
            ended[step] = dice.whole(int(began[step]), minute)
        else:
            left[step] = dice.whole(0, 12)
    return plan, replace(draw, pins=Pins(began, ended, left, minute))


def unlike_each_other(plan: Plan, draw: Draw) -> list[str]:
    """Where the engines, or the oracle and they, part on a pinned draw: by the names of the stamps."""
    assert draw.pins is not None, "asked of pinned draws only"
    later = resumed(plan, draw.pins.data_date_min)
    one, other = (run(later, draw, engine=engine) for engine in ENGINES)
    judged = zip(("ready", "started", "finished"), run_naively(later, draw), strict=True)
    oracle = [f"oracle: {stamps}" for stamps, own in judged if not np.array_equal(getattr(one, stamps), own)]
    return _unlike(one, other) + oracle


def _unlike(one: Diary, other: Diary) -> list[str]:
    return [f"twins: {s}" for s in STAMPS if not np.array_equal(getattr(one, s), getattr(other, s))]
