"""What the kernel notes of the pools while it plays, against takes and gives counted from the diary."""

from __future__ import annotations

from itertools import groupby

import pytest

from support.dice import on_random
from support.random_plans import random_case, random_case_with_lags
from towerpace import Give, Plan, Pool, Step
from towerpace.draws import as_planned
from towerpace.engine import kernel
from towerpace.engine.diary import NEVER
from towerpace.engine.kernel.block import Block

pytestmark = pytest.mark.skipif(not kernel.available(), reason="blocks are played by compiled code alone")


def noted(plan, draw):
    """(minute, units free) of every pool, as the kernel notes them in the second of two equal trials."""
    block = Block(plan, 2)
    assert block.play([draw, draw])
    pools = block.trial.pools
    return block.diary(1), [
        list(zip(pools.level_min[first:end].tolist(), pools.level_free[first:end].tolist(), strict=True))
        for first, n in zip(pools.first_level[:-1].tolist(), pools.n_levels.tolist(), strict=True)
        for end in (first + n,)
    ]


def counted(plan, draw, diary):
    """The same from who took and gave what, and when."""
    changes = [[] for _ in plan.pools.names]
    for ragged, amounts, stamps, sign in (
        (plan.needs, plan.quantities, diary.started, -1),
        (plan.give_pool, plan.give_quantity, diary.finished, 1),
    ):
        for step, pool, amount in zip(ragged.owners, ragged.values, amounts.values, strict=True):
            if not draw.skip[step] and stamps[step] != NEVER:
                changes[pool].append((int(stamps[step]), sign * int(amount)))
    return [levels_of(units, own) for units, own in zip(plan.pools.units, changes, strict=True)]


def levels_of(free, changes):
    levels = []
    for minute, several in groupby(sorted(changes), key=lambda change: change[0]):
        free += sum(amount for _, amount in several)
        levels.append((minute, int(free)))
    return levels


@on_random(random_case, cases=200)
def test_levels_noted_are_those_of_the_diary(case):
    diary, levels = noted(*case)
    assert levels == counted(*case, diary)


@on_random(random_case_with_lags, cases=100)
def test_levels_noted_with_lags_are_those_of_the_diary(case):
    diary, levels = noted(*case)
    assert levels == counted(*case, diary)


def test_one_level_a_minute_is_noted():
    """Worked by hand: at 10 the first gives its unit back and the second takes it; at 30 two more come."""
    gang = {"gang": 1}
    steps = [
        Step("first", work=10, needs=gang),
        Step("second", work=25, needs=gang),
        Step("comes", date=30, gives=[Give("gang", 2)]),
    ]
    plan = Plan(steps, pools=[Pool("gang", 1), Pool("idle", 3)])
    _, levels = noted(plan, as_planned(plan))
    assert levels == [[(0, 0), (10, 0), (30, 2), (35, 3)], []]
