"""The compiled kernel against the reference engine: all four stamps of every step."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from support.dice import on_random
from support.random_plans import random_case, random_case_with_lags
from support.weather_cases import random_case_in_weather
from towerpace.draws import Chooser
from towerpace.engine.kernel.run import run as run_compiled
from towerpace.engine.reference import run
from towerpace.plan.site.tower import build
from towerpace.plan.site.weather import weather_of
from towerpace.scenario.load import load

DEMO = Path(__file__).parents[2] / "scenarios" / "gannet_wharf" / "scenario.toml"
STAMPS = ("ready", "started", "finished", "enabler")


def assert_same(plan, draw):
    reference, compiled = run(plan, draw), run_compiled(plan, draw)
    for stamp in STAMPS:
        expected, actual = getattr(reference, stamp), getattr(compiled, stamp)
        wrong = np.flatnonzero(actual != expected)
        assert actual.dtype == expected.dtype
        assert not wrong.size, (
            f"{stamp} of {[plan.names[i] for i in wrong]}: {actual[wrong]} != {expected[wrong]}"
        )
    return compiled


@on_random(random_case, cases=2000)
def test_random_plans_have_the_same_diary_in_both_engines(case):
    assert_same(*case)


@on_random(random_case_with_lags, cases=1000)
def test_random_plans_with_lags_have_the_same_diary_in_both_engines(case):
    assert_same(*case)


@on_random(random_case_in_weather, cases=2000)
def test_random_plans_in_random_weather_have_the_same_diary_in_both_engines(case):
    assert_same(*case)


def test_the_demo_tower_has_the_same_diary_in_both_engines():
    scenario = load(DEMO)
    tower = build(scenario)
    chooser = Chooser(tower.plan, tower.laws, weather_of(scenario))
    for trial in range(10):
        diary = assert_same(tower.plan, chooser.draw(7, trial))
        assert diary.finish is not None
