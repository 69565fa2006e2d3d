"""What a run takes of memory and time a step, from which the command line announces large runs beforehand.

    python tests/bench/bench_needs.py

Each scenario is forecast in a process of its own, so that its memory is its own. Time is that of the
processor, of later trials only. The constants of `cli/announce.py` are these, rounded up.
"""

from __future__ import annotations

import resource
import subprocess
import sys
from pathlib import Path
from time import process_time

from towerpace import forecast, load
from towerpace.answers.prepare import prepare
from towerpace.cli.announce import steps_of
from towerpace.scenario import Scenario

SCENARIOS = Path(__file__).parents[2] / "scenarios"
ASKED = ("one_hoist", "tower_crane", "gannet_wharf")
SHORT, LONG = 20, 120


def main() -> None:
    """A line a scenario, and what follows of the smallest and the largest."""
    if len(sys.argv) > 1:
        print(*measured(sys.argv[1]))
        return
    rows = []
    for name in ASKED:
        run = subprocess.run([sys.executable, __file__, name], capture_output=True, text=True, check=True)
        steps, announced, peak, seconds = map(float, run.stdout.split())
        rows.append((steps, peak, seconds))
        words = f"{steps:,.0f} steps, {announced:,.0f} announced; at its highest {peak / 1e6:.0f} MB"
        print(f"{name}: {words}; {1000 * seconds:.2f} ms a trial", flush=True)
    (few, low, _), (many, high, seconds) = min(rows), max(rows)
    a_step = (high - low) / (many - few)
    print(f"{a_step:,.0f} bytes a step, {(low - a_step * few) / 1e6:.0f} MB a process beside them")
    print(f"{1e6 * seconds / many:.3f} microseconds a step and trial, of the largest")


def measured(name: str) -> tuple[int, int, int, float]:
    """Steps, steps as announced, memory at its highest [B], processor time of a trial [s]."""
    scenario = load(SCENARIOS / name / "scenario.toml")
    seconds_of(scenario, 2)  # what is made or compiled once
    seconds = [seconds_of(scenario, trials) for trials in (SHORT, LONG)]
    steps = prepare(scenario).tower.plan.n
    return steps, steps_of(scenario), peak_bytes(), (seconds[1] - seconds[0]) / (LONG - SHORT)


def seconds_of(scenario: Scenario, trials: int) -> float:
    """Processor time of a forecast. [s]"""
    begin = process_time()
    forecast(scenario, trials=trials)
    return process_time() - begin


def peak_bytes() -> int:
    """The most memory that this process has held. [B]"""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024


if __name__ == "__main__":
    main()
