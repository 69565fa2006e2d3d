"""The ledger of a trial that goes on from what a site has shown."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from support.dice import Dice, on_random
from support.pinned import pins_of
from support.random_plans import random_case
from towerpace import Plan, Pool, Step, Window, run
from towerpace.answers.ledger.past import NOT_STARTED, PastTimekeeper
from towerpace.answers.ledger.waits import MOVE, WORK, Timekeeper
from towerpace.draws import as_planned
from towerpace.plan.pins import Pins, resumed


def _seen(began, ended, left, *, at):
    return Pins(*(np.array(x, dtype=np.int64) for x in (began, ended, left)), data_date_min=at)


def split(plan, pins, labels):
    draw = replace(as_planned(plan), pins=pins)
    diary = run(resumed(plan, pins.data_date_min), draw)
    minutes = PastTimekeeper(plan, labels).split(draw, diary)
    return {
        name: dict(
            zip(
                ("waiting", "doing"), (of[k].tolist() for of in (minutes.waiting, minutes.doing)), strict=True
            )
        )
        for k, name in enumerate(minutes.causes)
    }


def test_what_the_record_does_not_explain_was_not_started_on_site():
    """Open from 10 on; a holds the gang from 10 to 30. b begins at 50: 10 closed, 20 short, 20 nobody knows.

    c, ready at 0 and not begun at 58, had to wait 10 for the opening, 20 and 8 for the gang, 20 for nobody
    knows; after the data date 4 for the gang, until b ends at 62.
    """
    gang = {"gang": 1}
    plan = Plan(
        [Step(name, work=20, needs=gang, window="site", mode="work") for name in "abc"],
        windows=[Window("site", [(10, 200)])],
        pools=[Pool("gang", 1)],
    )
    pins = _seen([10, 50, -1], [30, -1, -1], [-1, 4, -1], at=58)
    told = split(plan, pins, ["gang"])
    assert told["outside shift"]["waiting"] == [10, 10, 10]
    assert told["gang"]["waiting"] == [0, 20, 20 + 8 + 4]
    assert told[NOT_STARTED]["waiting"] == [0, 20, 20]
    assert told[WORK]["doing"] == [20, 12, 20]


def test_a_pinned_step_was_at_work_all_its_open_minutes():
    """It took 24 open minutes where the trial draws 5: the rest is not the way of a crane."""
    plan = Plan(
        [Step("a", work=5, window="site", mode="work")], windows=[Window("site", [(0, 20), (30, 60)])]
    )
    told = split(plan, _seen([4], [38], [-1], at=40), [])
    assert told[WORK]["doing"] == [24]
    assert told["outside shift"]["doing"] == [10]
    assert told[MOVE]["doing"] == [0]


def test_what_needs_no_pool_and_began_late_leaves_all_beside_its_book_alone():
    """It was ready at 0 and began at 4, short of nothing: compiled code has no cause to book that under."""
    plan = Plan([Step("handover", work=5)])
    draw = replace(as_planned(plan), pins=_seen([4], [9], [-1], at=40))
    diary, keeper = run(resumed(plan, 40), draw), PastTimekeeper(plan, [])
    guarded = np.zeros(2 * len(keeper.causes) + 2, dtype=np.int64)
    waiting, doing = guarded[1:-1].reshape(2, 1, -1)
    work = np.array([keeper.causes.index(WORK)])
    keeper._book(draw, diary, books=(waiting, doing), row=np.array([0]), work_cause=work)
    assert guarded[[0, -1]].tolist() == [0, 0]
    assert keeper.split(draw, diary).waiting[-1].tolist() == [4]


def _cut(dice: Dice):
    plan, draw = random_case(dice)
    diary = run(plan, draw, engine="reference")
    return plan, draw, diary, dice.whole(1, int(max(diary.finished.max(), 2)))


@on_random(_cut, cases=60)
def test_causes_add_up_and_those_of_a_trial_that_goes_on_are_its_own(case):
    """Every minute has one cause; of a trial pinned to its own diary none is unexplained."""
    plan, draw, diary, at = case
    labels = [f"short of {name}" for name in plan.pools.names]
    pinned = replace(draw, pins=pins_of(diary, draw, at))
    again = run(resumed(plan, at), pinned)
    own, told = Timekeeper(plan, labels).split(draw, diary), PastTimekeeper(plan, labels).split(pinned, again)
    ran = np.where(told.from_ < 0, 0, told.to - told.from_)
    assert (told.waiting.sum(axis=0) + told.doing.sum(axis=0)).tolist() == ran.tolist()
    free = ~pinned.pins.pinned & (diary.ready >= at)
    assert told.waiting[:-1, free].tolist() == own.waiting[:, free].tolist()
    assert told.waiting[-1].min(initial=0) >= 0
    assert told.waiting[-1].max(initial=0) == 0


@pytest.mark.parametrize("shared", [False, True])
def test_minutes_added_up_row_by_row_are_those_of_the_steps(shared):
    gang = {"gang": 1}
    plan = Plan([Step(name, work=20, needs=gang) for name in "abc"], pools=[Pool("gang", 1)])
    draw = replace(as_planned(plan), pins=_seen([0, 25, -1], [20, -1, -1], [-1, 7, -1], at=30))
    diary, keeper = run(resumed(plan, 30), draw), PastTimekeeper(plan, ["gang"])
    row = np.zeros(3, dtype=np.int64) if shared else np.arange(3)
    book = np.zeros((3, len(keeper.causes)), dtype=np.int64)
    work = np.full(3, keeper.column[WORK])
    keeper.add_up(draw, diary, book=book, row=row, work_cause=work)
    minutes = keeper.split(draw, diary)
    whole = (minutes.waiting + minutes.doing).T
    assert book.sum(axis=0).tolist() == whole.sum(axis=0).tolist()
    assert (book[0] if shared else book).tolist() == (whole.sum(axis=0) if shared else whole).tolist()
