"""The order in which processes are made must never show: only keys decide."""

import numpy as np

from support.dice import Dice, on_random
from support.random_plans import Case, random_case
from towerpace.engine.reference import run

STAMPS = ("ready", "started", "finished", "enabler")


def case_and_dice(dice: Dice) -> tuple[Case, Dice]:
    return random_case(dice), dice


@on_random(case_and_dice, cases=1000)
def test_shuffled_creation_gives_the_same_diary(case_and_shuffler):
    (plan, draw), shuffler = case_and_shuffler
    before = run(plan, draw)
    for successors in plan.lists.after:
        shuffler.shuffle(successors)
    for gives in plan.lists.gives:
        shuffler.shuffle(gives)
    after = run(plan, draw)
    for stamp in STAMPS:
        assert np.array_equal(getattr(before, stamp), getattr(after, stamp)), stamp
