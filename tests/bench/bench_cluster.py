"""Forecasts on the workers of a cluster on this machine: what they gain, what is sent, and what a kill costs.

    python tests/bench/bench_cluster.py [--trials N] [--workers 1 2 4] [--scenario NAME]

Efficiency is the playing time of this process alone over that of so many workers, times their number. Workers
are warm: they have the job and its compiled engine. More workers than free cores only take turns, and so do
those on a busy machine: there the processor time of a trial, of all processes together, tells what a cluster
costs, and efficiency says little.
"""

from __future__ import annotations

import argparse
import os
import pickle
import signal
import sys
from pathlib import Path
from time import perf_counter, process_time

import cloudpickle
import distributed
import numpy as np

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT / "tests")]

from towerpace.answers.measures import ForecastMeasure
from towerpace.answers.prepare import prepare
from towerpace.scenario import load
from towerpace.trials.cluster import Cluster
from towerpace.trials.job import Job
from towerpace.trials.player import BLOCK
from towerpace.trials.run import packed, play_block, run_trials


def local(workers: int) -> distributed.LocalCluster:
    """Worker processes of one thread each."""
    alike = {"threads_per_worker": 1, "dashboard_address": ":0", "silence_logs": 50}
    return distributed.LocalCluster(n_workers=workers, **alike)


def sent(job: Job) -> str:
    """Bytes of the job, of a task, and of what comes back."""
    with local(1) as made, distributed.Client(made) as client:
        there = Cluster(client).laid_out(packed(job))
        task = len(cloudpickle.dumps((play_block, there.key, 0, BLOCK)))
    back = len(pickle.dumps(play_block(packed(job), 0, BLOCK)))
    return f"the job {len(packed(job)):,} bytes, once; a task of {BLOCK} trials {task:,}, its answer {back:,}"


def played(job: Job, trials: int, executor: Cluster | None = None) -> tuple[float, np.ndarray]:
    """Wall seconds of trials, and their finishes."""
    begin = perf_counter()
    outcomes = run_trials(job, trials=trials, executor=executor).outcomes
    return perf_counter() - begin, outcomes.values["finish"]


def spent_s(client: distributed.Client) -> float:
    """Processor time of this process, with the scheduler in it, and of all workers. [s]"""
    return process_time() + sum(client.run(process_time).values())


def on_workers(job: Job, workers: int, trials: int) -> str:
    """Efficiency of so many workers against this process in the same minute."""
    with local(workers) as made, distributed.Client(made) as client:
        played(job, 4 * BLOCK * workers, Cluster(client))
        before_s = spent_s(client)
        together_s, finish = played(job, trials, Cluster(client))
        shared_ms = 1000 * (spent_s(client) - before_s) / trials
    before_s = process_time()
    alone_s, alone = played(job, trials)
    own_ms = 1000 * (process_time() - before_s) / trials
    same = "the same numbers" if np.array_equal(finish, alone) else "OTHER NUMBERS"
    return (
        f"{workers} workers: {trials:,} trials in {together_s:.2f} s, here alone {alone_s:.2f} s, "
        f"efficiency {alone_s / together_s / workers:.2f}, {same}; "
        f"processor time {shared_ms:.2f} ms a trial, here alone {own_ms:.2f}"
    )


def killed(job: Job, trials: int) -> str:
    """A worker of two is killed midway."""
    _, whole = played(job, trials)
    with local(2) as made, distributed.Client(made) as client:
        victims, done = list(client.run(os.getpid).values())[:1], 0

        def kill_midway(count: int) -> None:
            nonlocal done
            done += count
            if victims and done >= trials // 2:
                os.kill(victims.pop(), signal.SIGKILL)

        outcomes = run_trials(job, trials=trials, executor=Cluster(client), on_done=kill_midway).outcomes
    same = np.array_equal(outcomes.values["finish"], whole)
    return f"a worker of two killed midway: {'the same numbers' if same and not victims else 'LOST'}"


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--trials", type=int, default=4000)
    parser.add_argument("--workers", type=int, nargs="+", default=[1, 2, 4])
    parser.add_argument("--scenario", default="gannet_wharf")
    given = parser.parse_args()
    ready = prepare(load(ROOT / "scenarios" / given.scenario / "scenario.toml"))
    job = Job(ready.chooser, ForecastMeasure(ready.tower, None), 1)
    run_trials(job, trials=1)
    print(f"{os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}; {ready.tower.plan.n:,} steps")
    print(sent(job))
    for workers in given.workers:
        print(on_workers(job, workers, given.trials))
    print(killed(job, given.trials))


if __name__ == "__main__":
    main()
