"""What it costs to write a plan, to change a number in it and to play a trial, told in bare heap loops.

    python tests/bench/bench_build.py [SCENARIO] [--repeats N]

Machines differ, and one machine differs from day to day; a bare loop of the same run is a fair measure. It
pushes and pops 23,240 numbers on a heap on which 400 stand: about what a trial of the demo must do at least.
All times are processor time; medians of the repeats.
"""

from __future__ import annotations

import argparse
import gc
import heapq
import random
from collections.abc import Callable, Mapping
from datetime import date
from pathlib import Path
from statistics import median
from time import process_time

from towerpace.answers.choice.lab import FinishMeasure
from towerpace.answers.prepare import prepare
from towerpace.plan.site.tower import Tower, build, numbered
from towerpace.plan.site.writing import write
from towerpace.scenario import load
from towerpace.scenario.load import Scenario
from towerpace.scenario.setups import changed
from towerpace.trials.collector import collector_at_rest
from towerpace.trials.run import Job, run_trials

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


def seconds(call: Callable[[], object], *, repeats: int) -> float:
    """Median processor time of a call. [s]"""
    clock = []
    for _ in range(repeats):
        gc.collect()
        begin = process_time()
        with collector_at_rest():
            call()
        clock.append(process_time() - begin)
    return median(clock)


def main() -> None:
    """Time everything and print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("scenario", nargs="?", default=str(DEMO))
    parser.add_argument("--repeats", type=int, default=5)
    arguments = parser.parse_args()
    loop_s = median(bare_loop() for _ in range(31))
    scenario = load(arguments.scenario)
    table = {
        "load": seconds(lambda: load(arguments.scenario), repeats=arguments.repeats),
        "build anew": seconds(lambda: _anew(scenario), repeats=arguments.repeats),
    }
    ready = prepare(scenario)
    job = Job(ready.chooser, FinishMeasure(None), seed=1)
    run_trials(job, trials=1)
    table["trial"] = seconds(lambda: run_trials(job, trials=20), repeats=arguments.repeats) / 20
    for word, keys in CHANGES.items():
        try:
            other = changed(scenario, word, keys).scenario
        except ValueError as error:
            print(f"{word}: {error}")
            continue
        table[f"change: {word}"] = seconds(lambda other=other: build(other), repeats=arguments.repeats)
        table[f"ready: {word}"] = seconds(lambda other=other: prepare(other), repeats=arguments.repeats)
    print(f"bare loop {1000 * loop_s:.2f} ms")
    for word, value in table.items():
        print(f"{word:28}{1000 * value:10.1f} ms{value / loop_s:10.2f} loops")


def _anew(scenario: Scenario) -> Tower:
    return numbered(write(scenario), scenario)


if __name__ == "__main__":
    main()
