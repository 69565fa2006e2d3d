"""The bars of speed, each beside what was measured, as ratios in one run.

    python tests/bench/bench_bars.py [--runs N] [--whole] [--trials N] [--save]

All times of trials are processor time. The yardstick is a bare loop of CPython's heapq that pushes and pops
23,240 numbers on a heap in which 400 stand; it is timed beside every trial. A figure is the median over the
runs, with the lowest and the highest. Where the machine is busy with other work the table says so and gives
ratios alone: seconds are quoted only from a machine that had time for us. --whole also plays whole forecasts,
on one core, on two and on all, which takes minutes.
"""

from __future__ import annotations

import argparse
import datetime as dt
import os
import subprocess
import sys
from collections.abc import Callable, Iterable
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory
from time import perf_counter, process_time

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT / "tests"), str(ROOT / "tests" / "bench")]

import beside
import whole_runs
from bench_build import bare_loop
from bench_engines import DEMO
from heap_alone import events_of, through_the_heap

from support.plain_simpy import PlainTower, customers
from towerpace import Plan, Pool, Step
from towerpace.answers.cost import cost_book
from towerpace.answers.measures import ForecastMeasure
from towerpace.answers.prepare import Prepared, prepare
from towerpace.engine import reference
from towerpace.engine.kernel.run import run as compiled
from towerpace.engine.openings import Openings
from towerpace.scenario import load
from towerpace.trials.player import BLOCK

CALM = 0.95  # of the wall time our process must have had the processor
COMPILE = """
from time import perf_counter as t
from towerpace import load
from towerpace.answers.measures import ForecastMeasure
from towerpace.answers.prepare import prepare
from towerpace.trials.job import Job
from towerpace.trials.run import run_trials
ready = prepare(load({scenario!r}))
job = Job(ready.chooser, ForecastMeasure(ready.tower, None), 1); b = t()
run_trials(job, trials=1)
print(t() - b)
"""


class Measured:
    """What was measured of one thing over the runs, in bare loops or as a plain ratio."""

    def __init__(self, name: str, bar: str, values: Iterable[float]) -> None:
        self.name, self.bar, self.values = name, bar, sorted(values)

    def row(self) -> str:
        """A line of the table."""
        low, high = self.values[0], self.values[-1]
        told = f"{self.name:56}{median(self.values):9.3g}   {low:.3g} to {high:.3g}"
        return (told.ljust(88) + self.bar).rstrip()


def seconds(call: Callable[[], object]) -> float:
    """Processor time of a call. [s]"""
    begin = process_time()
    call()
    return process_time() - begin


def trials(ready: Prepared, runs: int) -> list[Measured]:
    """Parts of a trial in bare loops, and whole trials with the reference in their place."""
    plan, chooser = ready.tower.plan, ready.chooser
    costs = cost_book(ready.scenario.settings, tower=ready.tower, days=ready.days)
    read = ForecastMeasure(ready.tower, costs).reader()
    parts: dict[str, list[float]] = {"draws": [], "kernel": [], "reading": [], "whole": []}
    for _ in range(runs):
        clock = {name: [] for name in ("loop", "draws", "kernel", "reading")}
        for trial in range(21):
            clock["loop"].append(bare_loop())
            marks = [process_time()]
            draw = chooser.draw(1, trial)
            marks.append(process_time())
            diary = compiled(plan, draw)
            marks.append(process_time())
            read(draw, Openings(plan.windows, hours=draw.hours, horizon=plan.horizon), diary)
            marks.append(process_time())
            for name, a, b in zip(("draws", "kernel", "reading"), marks, marks[1:], strict=False):
                clock[name].append(b - a)
        own = {name: median(values) / median(clock["loop"]) for name, values in clock.items()}
        for name in ("draws", "kernel", "reading"):
            parts[name].append(own[name])
        parts["whole"].append(own["draws"] + own["kernel"] + own["reading"])
    return [Measured(f"a trial by itself, {name}, bare loops", "", values) for name, values in parts.items()]


def heap(ready: Prepared, runs: int) -> list[Measured]:
    """The events of a trial through a compiled heap alone, which no kernel with a heap beats."""
    events = events_of(compiled(ready.tower.plan, ready.chooser.draw(1, 0)))
    through_the_heap(events)
    values = [
        median(seconds(lambda: through_the_heap(events)) for _ in range(21))
        / median(bare_loop() for _ in range(5))
        for _ in range(runs)
    ]
    return [Measured(f"{len(events[0]):,} events through a heap alone, bare loops", "", values)]


def limits(rows: list[Measured]) -> list[str]:
    """How near a trial is to its bar and what keeps it there, in the figures of this run."""
    of = {row.name.removesuffix(", bare loops"): median(row.values) for row in rows}
    whole, kernel = of["a trial in blocks, whole"], of["a trial by itself, kernel"]
    heap_alone = next(value for name, value in of.items() if name.endswith("through a heap alone"))
    return [
        "",
        f"A forecast plays trials in blocks: one takes {whole:.2f} bare loops of 0.63. Of the kernel's",
        f"{kernel:.2f} the heap takes {heap_alone:.2f}: a faster heap would not help. Sampled by cpu-clock",
        "(2026-11-28) no look has more than a fortieth: it is many looks and branches.",
    ]


def engines(ready: Prepared, runs: int) -> list[Measured]:
    """How many times as long the reference takes, and plain SimPy against the reference."""
    plan, fast, fast_in_blocks, plain = ready.tower.plan, [], [], []
    read, play = ForecastMeasure(ready.tower, None).reader(), beside.player(ready)
    reference.run(plan, ready.chooser.draw(1, 0))  # the lists of a plan are made once
    for trial in range(runs):
        draw_s = seconds(lambda t=trial: ready.chooser.draw(1, t))
        draw = ready.chooser.draw(1, trial)
        openings = [Openings(plan.windows, hours=draw.hours, horizon=plan.horizon) for _ in range(2)]
        slow_s = seconds(lambda d=draw, o=openings: reference.run(plan, d, openings=o[0]))
        plain_s = seconds(lambda d=draw, o=openings: PlainTower(plan, d, o[1]).play())
        quick_s = median(seconds(lambda d=draw: compiled(plan, d)) for _ in range(5))
        diary = compiled(plan, draw)
        read_s = median(seconds(lambda d=draw, y=diary, o=openings: read(d, o[0], y)) for _ in range(5))
        in_block_s = median(seconds(lambda: play.block(0, BLOCK)) for _ in range(5)) / BLOCK
        fast.append((draw_s + slow_s + read_s) / (draw_s + quick_s + read_s))
        fast_in_blocks.append((draw_s + slow_s + read_s) / in_block_s)
        plain.append(plain_s / slow_s)
    return [
        Measured("whole trials in blocks, against the SimPy reference", "60", fast_in_blocks),
        Measured("whole trials one by one, against the SimPy reference", "", fast),
        Measured("plain SimPy, against the SimPy reference", "", plain),
    ]


def queue(runs: int) -> Measured:
    """20,000 customers at three servers, in bare loops."""
    arrivals, services = customers(20_000, servers=3, seed=1)
    dated = zip(arrivals.tolist(), services.tolist(), strict=True)
    steps = [Step(str(k), s, needs={"server": 1}, date=a) for k, (a, s) in enumerate(dated)]
    plan = Plan(steps, pools=[Pool("server", 3, order="first come")])
    compiled(plan)
    return Measured(
        "20,000 customers, bare loops",
        "0.7",
        (seconds(lambda: compiled(plan)) / bare_loop() for _ in range(3 * runs)),
    )


def blocks(ready: Prepared, runs: int) -> list[Measured]:
    """Trials played in blocks, and how they share two cores."""
    threads, copies = beside.times_as_fast(ready, runs)
    return [
        Measured("a trial in blocks, whole, bare loops", "0.63", beside.in_blocks(ready, runs)),
        Measured("a trial in blocks, draws, bare loops", "0.13", beside.draws_in_blocks(ready, runs)),
        Measured(
            "a trial in blocks, reading with costs, bare loops", "0.20", beside.read_in_blocks(ready, runs)
        ),
        Measured("share of a block outside compiled code, at most", "", beside.under_the_lock(ready, runs)),
        Measured("two threads, times as fast as one", "1.85", threads),
        Measured("two copied processes, times as fast as one", "1.85", copies),
    ]


def compiling(runs: int) -> Measured:
    """The first trial of a fresh process in which nothing is compiled yet, as its user waits. [wall s]"""
    code, spent = COMPILE.format(scenario=str(ROOT / "scenarios" / "one_trade" / "scenario.toml")), []
    for _ in range(runs):
        with TemporaryDirectory() as cache:
            environment = os.environ | {"NUMBA_CACHE_DIR": cache}
            command = [sys.executable, "-c", code]
            done = subprocess.run(command, env=environment, capture_output=True, text=True, check=True)
            spent.append(float(done.stdout))
    return Measured("first trial, all to be compiled, wall s", "8", spent)


def whole_runs_of(ready: Prepared, runs: int, trials: int) -> list[Measured]:
    """Whole forecasts: cores, memory, tables and figures, and the command up to the prompt."""
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    rows = []
    for workers, bar, n in ((2, "1.85", trials), (cores, "8 on 16 cores", 4 * trials)):
        pairs = [whole_runs.playing(ready, trials=n, workers=workers) for _ in range(runs)]
        faster = [alone_s / together_s for alone_s, together_s in pairs]
        rows.append(Measured(f"{n:,} trials on {workers} cores, times as fast as on one", bar, faster))
        spent = [10_000 * together_s for _, together_s in pairs]
        rows.append(
            Measured(f"10,000 trials at that pace on {workers} cores, wall s", "12 on 2 cores", spent)
        )
    peaks = [whole_runs.peak_mb(10 * trials) / whole_runs.peak_mb(trials)]
    rows.append(Measured(f"peak memory at {10 * trials:,} over {trials:,} trials", "1.1", peaks))
    saving = [whole_runs.saving_s() for _ in range(runs)]
    rows.append(Measured("tables and figures, own processor s", "", (own_s for own_s, _ in saving)))
    rows.append(Measured("tables and figures, wall s", "1.5", (wall_s for _, wall_s in saving)))
    for options, name in ((("--workers", "1"), "one worker"), ((), "workers as it likes")):
        walls = [whole_runs.command_s(*options)[0] for _ in range(runs)]
        rows.append(Measured(f"forecast, 1,000 trials to the prompt, {name}, wall s", "4", walls))
    return rows


def main() -> None:
    """Measure, print, and keep the print if asked."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=5)
    parser.add_argument("--whole", action="store_true", help="whole forecasts, too")
    parser.add_argument("--trials", type=int, default=1000, help="of which whole forecasts are made")
    parser.add_argument("--save", action="store_true")
    arguments = parser.parse_args()
    ready = prepare(load(DEMO))
    compiled(ready.tower.plan, ready.chooser.draw(1, 0))
    wall, own = perf_counter(), process_time()
    loops = [bare_loop() for _ in range(15)]
    rows = [*trials(ready, arguments.runs), *heap(ready, arguments.runs)]
    rows += [*engines(ready, arguments.runs), queue(arguments.runs), *blocks(ready, arguments.runs)]
    rows.append(
        Measured("a step at 80 levels over one at 10", "no worse: 1.1", whole_runs.growth(arguments.runs))
    )
    had = (process_time() - own) / (perf_counter() - wall)
    rows.append(compiling(min(arguments.runs, 1)))
    if arguments.whole:
        rows += whole_runs_of(ready, min(arguments.runs, 3), arguments.trials)
    loop = f"a bare loop {1000 * median(loops):.2f} ms, {1000 * min(loops):.2f} to {1000 * max(loops):.2f}"
    lines = [
        f"{ready.tower.name}, {ready.tower.plan.n:,} steps; {os.cpu_count()} cores, load "
        f"{os.getloadavg()[0]:.1f}; processor time {had:.0%} of wall time",
        loop if had >= CALM else "the machine is busy: ratios alone, and not for quoting",
        "",
        f"{'':56}{'median':>9}   spread over runs".ljust(88) + "bar",
        *(row.row() for row in rows),
        *limits(rows),
    ]
    print("\n".join(lines))
    if arguments.save:
        path = ROOT / "results" / f"bench-bars-{dt.datetime.now(tz=dt.UTC).date()}.txt"
        path.write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
