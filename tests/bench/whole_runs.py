"""What `bench_bars` measures of whole runs: cores, taller towers, memory, and commands to the prompt."""

from __future__ import annotations

import os
import resource
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory
from time import perf_counter, process_time

from bench_engines import DEMO, ROOT

from towerpace import Plan
from towerpace.answers.measures import ForecastMeasure
from towerpace.answers.prepare import Prepared, prepare
from towerpace.draws import Draw
from towerpace.engine.kernel.run import run as compiled
from towerpace.scenario import load
from towerpace.trials.job import Job
from towerpace.trials.run import run_trials
from towerpace.trials.team import Team

ONE_HOIST = ROOT / "scenarios" / "one_hoist" / "scenario.toml"
LOW, HIGH = 10, 80  # levels
# A user's Python keeps what it translates; one that may not would translate all sources for every command.
AS_USED = {key: value for key, value in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"}
PEAK = """
import resource
from towerpace import forecast, load
forecast(load({scenario!r}), trials={trials})
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
"""
SAVING = """
from tempfile import TemporaryDirectory
from time import perf_counter as w, process_time as t
from towerpace import forecast, load
answer = forecast(load({scenario!r}), trials=1000)
b, began = t(), w()
with TemporaryDirectory() as folder:
    answer.save(folder + "/x")
print(t() - b, w() - began)
"""


def growth(runs: int) -> list[float]:
    """Time of a step at 80 levels over that at 10, where thousands of crates wait for one hoist. [-]"""
    step_s: dict[int, Callable[[], float]] = {}
    for levels in (LOW, HIGH):
        table = ROOT / "scenarios" / "studies" / f"one_hoist_{levels}_levels.csv"
        changes = {"tower.levels": str(table), "tower.horizon_days": 2000, "weather": None}
        ready = prepare(load(ONE_HOIST, changes))
        draw = ready.chooser.draw(1, 0)
        compiled(ready.tower.plan, draw)
        step_s[levels] = lambda plan=ready.tower.plan, draw=draw: _median_s(plan, draw) / plan.n
    return [step_s[HIGH]() / step_s[LOW]() for _ in range(runs)]


def _median_s(plan: Plan, draw: Draw) -> float:
    spent = []
    for _ in range(9):
        begin = process_time()
        compiled(plan, draw)
        spent.append(process_time() - begin)
    return median(spent)


def playing(ready: Prepared, *, trials: int, workers: int) -> tuple[float, float]:
    """Wall seconds of some trials alone and with others that are there already, by trial. [s]"""
    job = Job(ready.chooser, ForecastMeasure(ready.tower, None), 1)
    alone_s = _wall_s(lambda: run_trials(job, trials=trials))
    with Team(workers) as team:
        run_trials(job, trials=trials, executor=team)  # others are called, and make the job ready
        together_s = _wall_s(lambda: run_trials(job, trials=trials, executor=team))
    return alone_s / trials, together_s / trials


def peak_mb(trials: int) -> float:
    """Peak memory of a forecast in a process of its own. [MB]"""
    return float(_printed(PEAK.format(scenario=str(DEMO), trials=trials))) / 1000


def saving_s() -> tuple[float, float]:
    """Processor and wall time of tables and figures, in a process that has drawn nothing before. [s]

    The processor time is that of the process itself, without the copies that draw with it.
    """
    own_s, wall_s = map(float, _printed(SAVING.format(scenario=str(DEMO))).split())
    return own_s, wall_s


def command_s(*options: str) -> tuple[float, float]:
    """Wall and processor time of `forecast` of the demo from the command line to the prompt. [s]"""
    with TemporaryDirectory() as folder:
        words = ["forecast", str(DEMO), "--trials", "1000", "--out", str(Path(folder) / "x"), *options]
        command = [sys.executable, "-c", "from towerpace.cli.app import main; main()", *words]
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        wall_s = _wall_s(lambda: subprocess.run(command, check=True, capture_output=True, env=AS_USED))
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
    own_s = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return wall_s, own_s


def _wall_s(call: Callable[[], object]) -> float:
    begin = perf_counter()
    call()
    return perf_counter() - begin


def _printed(code: str) -> str:
    command = [sys.executable, "-c", code]
    return subprocess.run(command, check=True, capture_output=True, text=True, env=AS_USED).stdout
