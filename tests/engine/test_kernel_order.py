"""The kernel may keep the steps of a plan in any order: the diary is that of the reference engine."""

from __future__ import annotations

import numpy as np

from support.dice import on_random
from support.random_plans import random_case, random_case_with_lags
from support.weather_cases import random_case_in_weather
from towerpace import Plan, Step
from towerpace.engine import reference
from towerpace.engine.kernel import tables
from towerpace.engine.kernel.run import run

STAMPS = ("ready", "started", "finished", "enabler")


def assert_any_order_does(plan, draw):
    expected, rng = reference.run(plan, draw), np.random.default_rng(plan.n)
    for order in (np.arange(plan.n)[::-1].copy(), rng.permutation(plan.n)):
        tables._COMPILED.pop(plan, None)
        tables.compiled(plan).put_in_order(order)
        diary = run(plan, draw)
        for stamp in STAMPS:
            assert getattr(diary, stamp).tolist() == getattr(expected, stamp).tolist(), (stamp, order)


@on_random(random_case, cases=120)
def test_random_plans_in_any_order(case):
    assert_any_order_does(*case)


@on_random(random_case_with_lags, cases=60)
def test_random_plans_with_lags_in_any_order(case):
    assert_any_order_does(*case)


@on_random(random_case_in_weather, cases=120)
def test_random_plans_in_random_weather_in_any_order(case):
    assert_any_order_does(*case)


def test_steps_stand_as_they_come_and_remedies_behind_them(monkeypatch):
    monkeypatch.setattr(tables, "MANY", 0)
    monkeypatch.setattr(tables, "numba", lambda: "even without")
    steps = [
        Step("last", work=1, after=["first"]),
        Step("mend", work=1, skip="broken", planned=False),
        Step("first", work=1),
        Step("never", work=1, date=50),
    ]
    ordered = tables.CompiledPlan(Plan(steps, horizon=40))
    assert ordered.start.steps.number.tolist() == [2, 0, 3, 1]
