"""The order in which processes are made must never show: only keys decide."""

import random

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from support.random_plans import cases
from towerpace.engine.reference import run

STAMPS = ("ready", "started", "finished", "enabler")


@given(cases(), st.randoms(use_true_random=False))
@settings(max_examples=300, deadline=None, derandomize=True)
def test_shuffled_creation_gives_the_same_diary(case, shuffler: random.Random):
    plan, draw = case
    before = run(plan, draw)
    for successors in plan.lists.after:
        shuffler.shuffle(successors)
    for gives in plan.lists.gives:
        shuffler.shuffle(gives)
    after = run(plan, draw)
    for stamp in STAMPS:
        assert np.array_equal(getattr(before, stamp), getattr(after, stamp)), stamp
