"""The compiled engine against the reference and against plain SimPy, as ratios in one run.

    python tests/bench/bench_engines.py [--trials N] [--save]

Everything is timed in this process, turn by turn, medians quoted; --save keeps the table as a dated file
under results/.
"""

from __future__ import annotations

import argparse
import contextlib
import datetime as dt
import io
import os
import pickle
import subprocess
import sys
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from itertools import pairwise
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory
from time import perf_counter
from typing import Any

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "tests"))

from support.other_queues import known
from support.plain_simpy import PlainTower, customers, stock_queue
from towerpace import Plan, Pool, Step
from towerpace.answers.cost import cost_book
from towerpace.answers.measures import ForecastMeasure
from towerpace.answers.prepare import Prepared, prepare
from towerpace.engine import reference
from towerpace.engine.diary import Diary
from towerpace.engine.kernel.run import run as compiled
from towerpace.engine.openings import Openings
from towerpace.scenario import load
from towerpace.trials.job import Job
from towerpace.trials.player import BLOCK
from towerpace.trials.run import run_trials

DEMO = ROOT / "scenarios" / "gannet_wharf" / "scenario.toml"
SERVERS = 3


def ms(call: Callable[[], Any]) -> float:
    """Milliseconds of a call."""
    begin = perf_counter()
    call()
    return 1000 * (perf_counter() - begin)


def together(calls: dict[str, Callable[[], Any]], rounds: int) -> dict[str, float]:
    """Median milliseconds of several calls, taken in turns."""
    found: dict[str, list[float]] = {name: [] for name in calls}
    for _ in range(rounds):
        for name, call in calls.items():
            found[name].append(ms(call))
    return {name: median(values) for name, values in found.items()}


class Trials:
    """Whole trials, one after the other as a forecast plays them, each part by its clock. [ms]"""

    def __init__(self, ready: Prepared) -> None:
        self.ready, plan = ready, ready.tower.plan
        costs = cost_book(ready.scenario.settings, tower=ready.tower, days=ready.days)
        self.read = ForecastMeasure(ready.tower, costs).reader()
        self.openings = lambda draw: Openings(plan.windows, hours=draw.hours, horizon=plan.horizon)

    def play(self, engine: Callable[..., Any], n: int) -> tuple[float, float, float]:
        """Medians of drawing, simulating and reading over n trials; an engine without a diary is not read."""
        clocks = []
        for trial in range(n + 1):
            marks = [perf_counter()]
            draw = self.ready.chooser.draw(1, trial)
            marks.append(perf_counter())
            openings = self.openings(draw)
            diary = engine(self.ready.tower.plan, draw, openings=openings)
            marks.append(perf_counter())
            if isinstance(diary, Diary):
                self.read(draw, openings, diary)
            marks.append(perf_counter())
            clocks.append([1000 * (b - a) for a, b in pairwise(marks)])
        draws, simulated, read = (median(column) for column in zip(*clocks[1:], strict=True))
        return draws, simulated, read


def simulation(ready: Prepared) -> None:
    """What a trial is made of, with each engine."""
    trials = Trials(ready)
    engines = {
        "kernel": (compiled, 200),
        "reference": (reference.run, 9),
        "plain SimPy": (lambda plan, draw, *, openings: PlainTower(plan, draw, openings).play(), 5),
    }
    found = {name: trials.play(engine, n) for name, (engine, n) in engines.items()}
    print(f"{ready.tower.name}: {ready.tower.plan.n:,} steps, milliseconds of a trial\n")
    print(f"{'':14}{'draws':>8}{'simulation':>12}{'times':>7}{'reading':>9}{'whole':>9}{'times':>7}")
    _, fast, _ = found["kernel"]
    whole = sum(found["kernel"])
    for name, (draws, simulated, read) in found.items():
        total = draws + simulated + read
        print(f"{name:14}{draws:8.2f}{simulated:12.2f}{simulated / fast:7.0f}", end="")
        print(f"{read:9.2f}{total:9.2f}{total / whole:7.0f}")
    parts = dict(zip(("draws", "the kernel", "reading the diary"), found["kernel"], strict=True))
    largest = max(parts, key=lambda name: parts[name])
    print(f"\nthe next limit: {largest}, {parts[largest] / whole:.0%} of a trial; plain SimPy keeps no diary")


def cores(ready: Prepared, trials: int) -> None:
    """One process against two processes and two threads; starting the workers is told apart."""
    costs = cost_book(ready.scenario.settings, tower=ready.tower, days=ready.days)
    job = Job(ready.chooser, ForecastMeasure(ready.tower, costs), 1)
    run_trials(job, trials=1)
    start = ms(lambda: run_trials(job, trials=2 * BLOCK, workers=2)) / 1000
    one = ms(lambda: run_trials(job, trials=trials, workers=1)) / 1000
    two = ms(lambda: run_trials(job, trials=trials, workers=2)) / 1000
    threads = ms(lambda: in_threads(job, trials)) / 1000
    print(f"\n{trials:,} trials: one process {one:.1f} s, two {two:.1f} s ({one / two:.2f} times),", end=" ")
    print(f"two threads {threads:.1f} s ({one / threads:.2f} times)")
    print(f"two workers have started and played {2 * BLOCK} trials after {start:.1f} s;", end=" ")
    print(f"the rest ran {(one - one * 2 * BLOCK / trials) / (two - start):.2f} times as fast as in one")


def in_threads(job: Job, trials: int) -> None:
    """The same in two threads, each with a job of its own: the compiled parts run without Python's lock."""
    jobs = [pickle.loads(pickle.dumps(job)) for _ in range(2)]
    with ThreadPoolExecutor(2) as pool:
        list(pool.map(lambda own: run_trials(own, trials=trials // 2), jobs))


def queue(n: int) -> None:
    """A queue of n customers at three servers through the lower floor and through other simulators."""
    arrivals, services = customers(n, servers=SERVERS, seed=1)
    dated = zip(arrivals.tolist(), services.tolist(), strict=True)
    steps = [Step(str(k), s, needs={"server": 1}, date=a) for k, (a, s) in enumerate(dated)]
    plan = Plan(steps, pools=[Pool("server", SERVERS, order="first come")])
    diary = compiled(plan)
    waited = float((diary.started - diary.ready).mean())
    others = {"stock SimPy": stock_queue} | known()
    for name, play in others.items():
        assert abs(waited - play(arrivals, services, servers=SERVERS)) < 1e-6, name
    calls: dict[str, Callable[[], Any]] = {"kernel": lambda: compiled(plan)}
    calls |= {
        name: lambda play=play: play(arrivals, services, servers=SERVERS) for name, play in others.items()
    }
    found = together(calls, 3)
    print(
        f"\n{n:,} customers at {SERVERS} servers, equal mean waits: "
        + ", ".join(
            f"{name} {value:,.1f} ms ({value / found['kernel']:,.0f} times)" for name, value in found.items()
        )
    )


def growth() -> None:
    """Microseconds a step as a tower grows whose hoist binds: crates wait for it by the thousand."""
    found = []
    for levels in (10, 20, 40, 80):
        table = ROOT / "scenarios" / "studies" / f"one_hoist_{levels}_levels.csv"
        changes = {"tower.levels": str(table), "tower.horizon_days": 2000, "weather": None}
        ready = prepare(load(ROOT / "scenarios" / "one_hoist" / "scenario.toml", changes))
        draw = ready.chooser.draw(1, 0)
        compiled(ready.tower.plan, draw)
        found.append(
            (
                levels,
                ready.tower.plan.n,
                median(ms(lambda r=ready, d=draw: compiled(r.tower.plan, d)) for _ in range(9)),
            )
        )
    print("\ngrowth: " + ", ".join(f"{levels} levels {1000 * t / n:.2f} us a step" for levels, n, t in found))


FIRST_TRIAL = """
from time import perf_counter as t; b = t()
from towerpace import load
from towerpace.answers.measures import ForecastMeasure
from towerpace.answers.prepare import prepare
from towerpace.trials.job import Job
from towerpace.trials.run import run_trials
i = t() - b
ready = prepare(load({scenario!r}))
job = Job(ready.chooser, ForecastMeasure(ready.tower, None), 1); b = t()
run_trials(job, trials=1)
print(i, t() - b)
"""


def start_up() -> None:
    """The first trial of fresh processes: nothing compiled yet, and everything on disk."""
    code = FIRST_TRIAL.format(scenario=str(ROOT / "scenarios" / "one_trade" / "scenario.toml"))
    with TemporaryDirectory() as cache:
        both = []
        for _ in range(2):
            command, environment = [sys.executable, "-c", code], os.environ | {"NUMBA_CACHE_DIR": cache}
            run = subprocess.run(command, env=environment, capture_output=True, text=True, check=True)
            both.append([float(word) for word in run.stdout.split()])
    (_, compiling), (importing, cached) = both
    print(
        f"\nfresh process: import {importing:.2f} s; first trial {compiling:.1f} s where all must be", end=" "
    )
    print(f"compiled, once, {cached:.2f} s from the cache")


def main() -> None:
    """Measure and print; keep the print if asked."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--trials", type=int, default=10_000)
    parser.add_argument("--save", action="store_true")
    arguments = parser.parse_args()
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        ready = prepare(load(DEMO))
        simulation(ready)
        cores(ready, arguments.trials)
        queue(20_000)
        growth()
        start_up()
    print(out.getvalue())
    if arguments.save:
        day = dt.datetime.now(tz=dt.UTC).date()
        (ROOT / "results" / f"bench-engines-{day}.txt").write_text(out.getvalue(), encoding="utf-8")


if __name__ == "__main__":
    main()
