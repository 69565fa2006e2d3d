"""Where the milliseconds of a trial go, beside bare loops of SimPy and of heapq in the same run.

    python tests/bench/bench_trial.py [SCENARIO] [--trials N]

Prints medians over the trials; compare the ratios, not the milliseconds, across machines.
"""

from __future__ import annotations

import argparse
import gc
from collections.abc import Callable
from heapq import heappop, heappush
from pathlib import Path
from statistics import median
from time import perf_counter
from typing import Any

import simpy

from towerpace.answers.measures import ForecastMeasure
from towerpace.answers.prepare import prepare
from towerpace.engine.fastest import fastest
from towerpace.engine.openings import Openings
from towerpace.engine.reference import run
from towerpace.scenario import load

DEMO = Path(__file__).parents[2] / "scenarios" / "gannet_wharf" / "scenario.toml"


def bare_loop(events: int) -> None:
    """One process that does nothing but wait, so many times."""

    def wait(env: simpy.Environment) -> Any:
        for _ in range(events):
            yield env.timeout(1)

    env = simpy.Environment()
    env.process(wait(env))
    env.run()


def bare_heap(events: int, standing: int = 400) -> None:
    """So many pushes and pops on a heap in which so many numbers stand, as Python's own heapq does them."""
    heap = list(range(standing))
    for k in range(events):
        heappush(heap, k * 7919 % 100_003)
        heappop(heap)


def timed(clock: dict[str, list[float]], part: str, call: Callable[[], Any]) -> Any:
    """Result of a call; its milliseconds are noted."""
    begin = perf_counter()
    result = call()
    clock.setdefault(part, []).append(1000 * (perf_counter() - begin))
    return result


def main() -> None:
    """Time the trials and print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("scenario", nargs="?", default=str(DEMO))
    parser.add_argument("--trials", type=int, default=30)
    arguments = parser.parse_args()
    ready = prepare(load(arguments.scenario))
    play = fastest()
    plan, read = ready.tower.plan, ForecastMeasure(ready.tower, None).reader()
    first = ready.chooser.draw(1, 0)
    read(first, Openings(plan.windows, hours=first.hours, horizon=plan.horizon), run(plan, first))
    play(plan, first)
    gc.collect()
    gc.freeze()
    clock: dict[str, list[float]] = {}
    for trial in range(arguments.trials):
        draw = timed(clock, "draws", lambda t=trial: ready.chooser.draw(1, t))
        openings = Openings(plan.windows, hours=draw.hours, horizon=plan.horizon)
        timed(clock, "windows", lambda o=openings: [o[k].next_start(0, 0) for k in range(len(plan.windows))])
        diary = timed(clock, "simulation", lambda d=draw, o=openings: run(plan, d, openings=o))
        timed(clock, "diary", lambda d=draw, o=openings, y=diary: read(d, o, y))
        timed(clock, "kernel", lambda d=draw: play(plan, d))
        timed(clock, "bare heap", lambda: bare_heap(plan.n))
        timed(clock, "bare SimPy loop", lambda: bare_loop(plan.n))
    parts = {part: median(values) for part, values in clock.items()}
    bare = parts.pop("bare SimPy loop")
    kernel, heap = parts.pop("kernel"), parts.pop("bare heap")
    total = sum(parts.values())
    print(f"{ready.tower.name}: {plan.n:,} steps, {len(plan.windows)} windows, {arguments.trials} trials\n")
    print(f"{'':18}{'ms':>9}{'share':>9}{'of bare loop':>15}")
    for part, ms in [*parts.items(), ("a trial", total)]:
        print(f"{part:18}{ms:9.2f}{ms / total:9.0%}{ms / bare:15.1f}")
    print(f"{'bare SimPy loop':18}{bare:9.2f}{'':9}{1:15.1f}  ({plan.n:,} timeouts)")
    print(f"\nfastest engine: {kernel:.2f} ms, {kernel / heap:.2f} bare heap loops of {heap:.2f} ms")
    print(f"{1000 * plan.n / parts['simulation']:,.0f} steps a second in the simulation")


if __name__ == "__main__":
    main()
