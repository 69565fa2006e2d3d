"""Which unit served a step: the replay of a diary against what the reference engine held while it ran."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

from crowded_plans import crowded

from support.dice import on_random
from support.random_plans import random_case, random_case_with_lags
from towerpace import build, load, run
from towerpace.engine.openings import Openings
from towerpace.engine.pools import PoolState
from towerpace.engine.reference import Site
from towerpace.engine.served import served
from towerpace.plan.model import NONE

SCENARIOS = Path(__file__).parents[2] / "scenarios"


class Watched(PoolState):
    """Pools that write down which positioned unit went to which step."""

    def __init__(self, plan):
        super().__init__(plan)
        self.sent = set()

    def _send_nearest(self, pool, step):
        way = super()._send_nearest(pool, step)
        self.sent.add((step, pool, self._held[step]))
        return way


def by_reference(plan, draw):
    site = Site(plan, draw, Openings(plan.windows, hours=draw.hours, horizon=plan.horizon))
    site.pools = site.turns._pools = Watched(plan)
    return site.play(), site.pools.sent


def positioned_rows(plan, units):
    rows = zip(units.step.tolist(), units.pool.tolist(), units.unit.tolist(), strict=True)
    return {row for row in rows if plan.pools.moves[row[1]] is not None}


def assert_as_sent(plan, draw):
    diary, sent = by_reference(plan, draw)
    assert positioned_rows(plan, served(diary, draw)) == sent


@on_random(random_case, cases=600)
def test_the_nearest_unit_is_the_one_the_engine_sent(case):
    assert_as_sent(*case)


@on_random(random_case_with_lags, cases=200)
def test_with_lags(case):
    assert_as_sent(*case)


@on_random(crowded, cases=300)
def test_in_crowds(case):
    assert_as_sent(*case)


def test_no_unit_serves_two_steps_at_a_time():
    site = build(load(SCENARIOS / "one_hoist" / "scenario.toml"))
    draw = site.draw(1)
    diary = run(site.plan, draw)
    units = served(diary, draw)
    givers = {}
    for step, gives in enumerate(site.plan.lists.gives):
        for pool, _, taker in gives:
            if taker != NONE:
                givers[taker, pool] = max(givers.get((taker, pool), 0), int(diary.finished[step]))
    spans = {}
    for step, pool, unit in zip(units.step.tolist(), units.pool.tolist(), units.unit.tolist(), strict=True):
        until = givers.get((step, pool), site.plan.horizon)
        spans.setdefault((pool, unit), []).append((int(diary.started[step]), until))
    assert len(spans) > 5
    for held in spans.values():
        held.sort()
        assert all(a[1] <= b[0] for a, b in pairwise(held))
