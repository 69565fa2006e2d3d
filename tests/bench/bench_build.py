"""What it costs to write a plan, to change a number in it and to play a trial, told in bare heap loops.

    python tests/bench/bench_build.py [SCENARIO] [--repeats N]

Machines differ, and one machine differs from day to day; a bare loop of the same run is a fair measure. It
pushes and pops 23,240 numbers on a heap on which 400 stand: about what a trial of the demo must do at least.
All times are processor time, medians of the repeats; the loops are those right before and after.
"""

from __future__ import annotations

import argparse
import gc
import heapq
import random
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from statistics import median
from time import process_time

from towerpace.answers.choice.lab import FinishMeasure
from towerpace.answers.prepare import prepare
from towerpace.plan.checks import check_compiled, check_pools
from towerpace.plan.model import Plan
from towerpace.plan.site.tower import build, numbered
from towerpace.plan.site.writing import write
from towerpace.scenario import load
from towerpace.scenario.setups import changed
from towerpace.trials.collector import collector_at_rest
from towerpace.trials.job import Job
from towerpace.trials.run import run_trials

DEMO = Path(__file__).parents[2] / "scenarios" / "gannet_wharf" / "scenario.toml"
PUSHES, STANDING = 23_240, 400
CHANGES: Mapping[str, Mapping[str, object]] = {
    "a trade's pace": {"trade.seal.pace": {"low": 0.9, "likely": 1.1, "high": 1.6, "shape": "pert"}},
    "learning": {"trade.panels.learning": {"rate": 0.9, "plateau_fronts": 12}},
    "a count": {"resource.bracket_gang.count": 2},
    "a share": {"hoist.share": 0.35},
    "a wind limit": {"limit.flat_lift.wind_above_m_s": 8.3},
    "a contract date": {"contract.completion.date": date(2029, 5, 1)},
    "a calendar": {"calendar.setting.week.sat": ["08:00-12:30", "13:00-16:15"]},
}


def bare_loop() -> float:
    """Seconds of the bare heap loop. [s]"""
    numbers = [random.Random(k).random() for k in range(STANDING)]
    values = (numbers * (PUSHES // STANDING + 1))[:PUSHES]
    heapq.heapify(numbers)
    push, pop = heapq.heappush, heapq.heappop
    begin = process_time()
    for value in values:
        push(numbers, value)
        pop(numbers)
    return process_time() - begin


@dataclass(frozen=True)
class Cost:
    """Processor time of something [s], and in bare loops that ran right before and after it [-]."""

    spent_s: float
    loops: float


def cost(call: Callable[[], object], *, repeats: int, times: int = 1) -> Cost:
    """Medians of the repeats of a call, as a share of what it does so many times."""
    spent, loops = [], []
    before_s = bare_loop()
    for _ in range(repeats):
        gc.collect()
        begin = process_time()
        with collector_at_rest():
            call()
        spent.append((process_time() - begin) / times)
        after_s = bare_loop()
        loops.append(2 * spent[-1] / (before_s + after_s))
        before_s = after_s
    return Cost(median(spent), median(loops))


def main() -> None:
    """Time everything and print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("scenario", nargs="?", default=str(DEMO))
    parser.add_argument("--repeats", type=int, default=5)
    arguments = parser.parse_args()
    n, scenario = arguments.repeats, load(arguments.scenario)
    table = {
        "load": cost(lambda: load(arguments.scenario), repeats=n),
        "build anew": cost(lambda: numbered(write(scenario), scenario), repeats=n),
        "of it checks": checks(write(scenario).plan, repeats=n),
    }
    job = Job(prepare(scenario).chooser, FinishMeasure(None), seed=1)
    run_trials(job, trials=1)
    table["trial"] = cost(lambda: run_trials(job, trials=20), repeats=n, times=20)
    for word, keys in CHANGES.items():
        try:
            other = changed(scenario, word, keys).scenario
        except ValueError as error:
            print(f"{word}: {error}")
            continue
        table[f"change: {word}"] = cost(lambda other=other: build(other), repeats=n)
        table[f"ready: {word}"] = cost(lambda other=other: prepare(other), repeats=n)
    for word, row in table.items():
        print(f"{word:28}{1000 * row.spent_s:10.1f} ms{row.loops:10.2f} loops")


def checks(plan: Plan, *, repeats: int) -> Cost:
    """What the checks of a plan cost that has just been written.

    Its layers, and its lists as Python's, are made beforehand: the plan needs them as well.
    """

    def check() -> None:
        for lists in (plan.needs, plan.give_pool, plan.give_taker):
            lists.__dict__.pop("owners", None)
        check_pools(plan)
        check_compiled(plan)

    return cost(check, repeats=repeats)


if __name__ == "__main__":
    main()
