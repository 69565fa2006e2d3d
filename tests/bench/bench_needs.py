"""What a run takes of memory and time a step, from which the command line announces large runs beforehand.

    python tests/bench/bench_needs.py

Each scenario is forecast in a process of its own, so that its memory is its own: what the program takes
before anything is loaded, and at its highest after so many trials. Time is that of the processor, of later
trials only. The constants of `cli/announce.py` are the greatest of these, rounded up.
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

SCENARIOS = Path(__file__).parents[2] / "scenarios"
ASKED = ("one_hoist", "tower_crane", "gannet_wharf")
SHORT, LONG = 20, 120


def main() -> None:
    """A line a scenario."""
    if len(sys.argv) > 1:
        print(measured(sys.argv[1]))
        return
    print("steps truly and announced, MB of the program, bytes a step, microseconds a step and trial")
    for name in ASKED:
        run = subprocess.run([sys.executable, __file__, name], capture_output=True, text=True, check=True)
        print(run.stdout.strip(), flush=True)


def measured(name: str) -> str:
    """What one scenario takes."""
    alone = peak_bytes()
    scenario = load(SCENARIOS / name / "scenario.toml")
    steps = prepare(scenario).tower.plan.n
    seconds = [seconds_of(scenario, trials) for trials in (SHORT, LONG)]
    a_step = (peak_bytes() - alone) / steps
    a_trial = 1e6 * (seconds[1] - seconds[0]) / (LONG - SHORT) / steps
    return f"{name}: {steps:,} and {steps_of(scenario):,}, {alone / 1e6:.0f}, {a_step:,.0f}, {a_trial:.2f}"


def seconds_of(scenario: object, trials: int) -> float:
    """Processor time of a forecast. [s]"""
    begin = process_time()
    forecast(scenario, trials=trials)  # type: ignore[arg-type]
    return process_time() - begin


def peak_bytes() -> int:
    """The most memory that this process has held. [B]"""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024


if __name__ == "__main__":
    main()
