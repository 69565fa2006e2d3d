"""Both engines on random plans until so many steps are compared: four stamps of every step must be equal.

    python tests/bench/bench_same.py 1000000 > results/bench-same-DATE.txt

Plans come from dice numbered from 0 on, without lags and with them in turn, so the first number that parts
the engines can be played again. The unit tests play some hundreds of the same plans.
"""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from support.dice import Dice
from support.random_plans import random_case, random_case_with_lags
from towerpace.answers.engines import difference
from towerpace.engine import kernel
from towerpace.engine.fastest import fastest
from towerpace.engine.reference import run

MAKERS = (random_case, random_case_with_lags)


def main() -> None:
    """Play plans until the steps asked for are compared, and print what was found; exit 1 if they part."""
    wanted = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    if not kernel.available():
        sys.exit("The compiled engine is not there: nothing to compare.")
    steps = plans = unlike = 0
    while steps < wanted:
        n_steps, apart = compared(plans)
        steps, plans = steps + n_steps, plans + 1
        if apart is not None:
            unlike += 1
            print(f"dice {plans - 1}: {apart}")
    print(f"{steps:,} steps of {plans:,} random plans played on both engines; {unlike:,} plans differ")
    sys.exit(bool(unlike))


def compared(number: int) -> tuple[int, str | None]:
    """How many steps the plan of a number has, and the first difference of its diaries, in words."""
    plan, draw = MAKERS[number % 2](Dice(number // 2))
    return plan.n, difference(run(plan, draw), fastest()(plan, draw))


if __name__ == "__main__":
    main()
