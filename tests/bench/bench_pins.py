"""Is a trial that is pinned to its own diary and run on from a data date the same trial?

    python tests/bench/bench_pins.py [PLANS] [FIRST]

On so many random plans, from number FIRST on, each at three data dates, in both engines, with nonsense in the
place of all that lies before the data date; and whether both engines and a naive oracle agree on records that
break pools and windows. Prints every plan on which they do not, with its number. The tests play the first 400
at one date.
"""

import sys
from itertools import zip_longest

from support.dice import Dice
from support.pinned import pins_of, unlike_each_other, unlike_itself, wild_record
from support.random_plans import random_case
from towerpace import run

PLANS, DATES = 3000, 3


def identity(plans: range) -> None:
    """Plans at three data dates: each in a third of the trial of its own."""
    cases = both = steps = wrong = 0
    for number in plans:
        dice = Dice(number)
        plan, draw = random_case(dice)
        diary = run(plan, draw, engine="reference")
        last = int(max(diary.finished.max(), 2))
        for third in range(DATES):
            minute = max(1, dice.whole(third * last // DATES, (third + 1) * last // DATES))
            pinned = pins_of(diary, draw, minute).pinned
            cases, steps = cases + 1, steps + int((~draw.skip).sum())
            both += bool(pinned.any() and (~pinned & ~draw.skip).any())
            if faults := unlike_itself(diary, draw, minute, dice):
                wrong += 1
                print(f"  plan {number}, data date {minute}: {', '.join(faults)}", flush=True)
    print(
        f"own diary: {len(plans):,} plans, {cases:,} data dates, {both:,} of them with past and future, "
        f"{steps:,} steps; not the same trial: {wrong}"
    )


def twins(plans: range) -> None:
    """Records that keep nothing but the order of the plan."""
    cases = wrong = 0
    for number in plans:
        plan, draw = wild_record(Dice(number))
        if draw.pins is None or not draw.pins.pinned.any():
            continue
        cases += 1
        if faults := unlike_each_other(plan, draw):
            wrong += 1
            print(f"  record {number}: {', '.join(faults)}", flush=True)
    print(f"records that break pools and windows: {cases:,}; engines or oracle apart: {wrong}")


if __name__ == "__main__":
    count, first = (int(a) if a else d for a, d in zip_longest(sys.argv[1:3], (PLANS, 0)))
    identity(range(first, first + count))
    twins(range(first, first + count))
