"""The reference engine against an independent one that rescans every step at every minute."""

import numpy as np

from support.dice import on_random
from support.naive import run_naively
from support.random_plans import random_case, random_case_with_lags
from towerpace.engine.reference import run


def assert_same(case):
    plan, draw = case
    diary = run(plan, draw)
    for word, expected in zip(("ready", "started", "finished"), run_naively(plan, draw), strict=True):
        actual = getattr(diary, word)
        wrong = np.flatnonzero(actual != expected)
        assert not wrong.size, (
            f"{word} of {[plan.names[i] for i in wrong]}: {actual[wrong]} != {expected[wrong]}"
        )


@on_random(random_case, cases=600)
def test_every_step_is_ready_starts_and_ends_in_the_same_minute(case):
    assert_same(case)


@on_random(random_case_with_lags, cases=300)
def test_lags_agree_too(case):
    assert_same(case)
