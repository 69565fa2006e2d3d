"""Every minute of every step has exactly one cause, on random plans with everything in them."""

import numpy as np

from support.dice import on_random
from support.random_plans import random_case
from towerpace.answers.ledger.waits import Timekeeper
from towerpace.engine.openings import Openings
from towerpace.engine.reference import run


def split(case):
    plan, draw = case
    openings = Openings(plan.windows, hours=None, horizon=plan.horizon)
    diary = run(plan, draw, openings=openings)
    keeper = Timekeeper(plan, [f"waiting for {name}" for name in plan.pools.names])
    return keeper.split(draw, diary), diary


@on_random(random_case, cases=400)
def test_waiting_causes_add_up_to_the_time_between_ready_and_started(case):
    plan, _ = case
    minutes, diary = split(case)
    came = diary.ready >= 0
    begun = np.where(diary.started >= 0, diary.started, plan.horizon)
    assert np.all(minutes.waiting >= 0)
    assert np.array_equal(minutes.waiting.sum(axis=0)[came], (begun - diary.ready)[came])
    assert not minutes.waiting[:, ~came].any()


@on_random(random_case, cases=400)
def test_doing_causes_add_up_to_the_time_between_started_and_finished(case):
    plan, draw = case
    minutes, diary = split(case)
    begun = np.where((diary.started < 0) & (diary.ready >= 0), plan.horizon, diary.started)
    ended = np.where(diary.finished < 0, plan.horizon, diary.finished)
    lasted = np.where(diary.ready >= 0, ended - begun, 0)
    assert np.array_equal(minutes.doing.sum(axis=0), lasted)
    done = (diary.finished >= 0) & ~draw.skip
    work = minutes.doing[minutes.causes.index("work")]
    assert np.array_equal(work[done], draw.work[done])


@on_random(random_case, cases=400)
def test_the_chain_of_enablers_reaches_back_from_every_end_without_a_hole(case):
    """Work + gaps + first ready = finish, and no enabler ends after the start it enables."""
    _, diary = split(case)
    for step in np.flatnonzero(diary.finished >= 0).tolist():
        total, at = 0, step
        while True:
            enabler = int(diary.enabler[at])
            assert enabler < len(diary.ready)
            total += int(diary.finished[at] - diary.started[at])
            since = int(diary.finished[enabler]) if enabler >= 0 else int(diary.ready[at])
            assert 0 <= since <= diary.started[at]
            total += int(diary.started[at]) - since
            if enabler < 0:
                total += int(diary.ready[at])
                break
            at = enabler
        assert total == diary.finished[step]
