"""What the machinery of a sweep costs, whether its memory grows, and a long study killed ten times.

    python tests/bench/bench_sweep.py overhead     1,000 tasks of 20 ms against a bare loop
    python tests/bench/bench_sweep.py memory       peak memory over the points, real trials
    python tests/bench/bench_sweep.py kills        200 points of the demo killed ten times, and undisturbed
    python tests/bench/bench_sweep.py cluster      the same points on a local cluster, a worker killed midway

Compare the ratios, not the seconds, across machines. Another process on the machine spoils all of them.
"""

from __future__ import annotations

import argparse
import os
import random
import signal
import subprocess
import sys
import time
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path
from tempfile import TemporaryDirectory

from towerpace.answers.sweep import sweep as sweeping
from towerpace.answers.sweep.estimates import ResponseEstimate
from towerpace.answers.sweep.tasks import Played, Task

SCENARIOS = Path(__file__).parents[2] / "scenarios"
TASK_S, TASKS, ROUNDS, POINTS, KILLS = 0.02, 1000, 3, 200, 10
HEAD = """\
[study]
name = "Bench"
scenario = "{scenario}"
design = "latin"
points = {points}
trials = {trials}
seed = 4
responses = ["finish.p80", "finish.mean", "closing_in.20.p80"]

[factor.wind]
key = "limit.flat_lift.wind_above_m_s"
low = 8.0
high = 11.0
[factor.hoists]
key = "resource.hoist.count"
low = 2
high = 4
integer = true
"""
BARE = """\
[study]
name = "Bench"
scenario = "{scenario}"
design = "latin"
points = {points}
trials = {trials}
seed = 4
responses = ["finish.p80", "finish.mean", "beyond_horizon"]

[factor.slip]
key = "structure.slip_days.high"
low = 1.0
high = 9.0
"""


def busy(_: object) -> None:
    """Work of 20 ms that cannot be shared out."""
    until = time.thread_time() + TASK_S
    while time.thread_time() < until:
        pass


def busy_point(task: Task) -> Played:
    """A point that costs 20 ms and nothing else."""
    busy(task)
    rows = (ResponseEstimate(r.text, 1.0 * task.number, 0.0, 2.0, 10) for r in task.responses)
    return Played(task.number, tuple(rows), None)


def written(folder: Path, text: str, *, scenario: str, points: int, trials: int) -> Path:
    """A study file in a folder."""
    path = folder / "study.toml"
    full = (SCENARIOS / scenario / "scenario.toml").as_posix()
    path.write_text(text.format(scenario=full, points=points, trials=trials), encoding="utf-8")
    return path


@dataclass
class Clock:
    """Seconds on the wall, and of the processor in this process."""

    wall_s: float = field(default_factory=time.perf_counter)
    cpu_s: float = field(default_factory=time.process_time)

    def since(self) -> Clock:
        """From then to now."""
        return Clock(time.perf_counter() - self.wall_s, time.process_time() - self.cpu_s)


def bare(workers: int) -> Clock:
    """The tasks alone."""
    begin = Clock()
    if workers == 1:
        for k in range(TASKS):
            busy(k)
        return begin.since()
    with ProcessPoolExecutor(workers) as pool:
        list(pool.map(busy, range(TASKS)))
    return begin.since()


def swept(workers: int) -> Clock:
    """The same tasks as points of a study, each with its part on disk, without the checks before them."""
    clock: list[Clock] = []

    def begin(count: int) -> None:
        if count == 0:  # none was done before: now the points begin
            clock.append(Clock())

    with TemporaryDirectory() as name:
        study = written(Path(name), BARE, scenario="one_trade", points=TASKS, trials=10)
        sweeping.sweep(study, folder=Path(name) / "out", workers=workers, on_done=begin)
    return clock[0].since()


def overhead() -> None:
    """The loop of a sweep against the bare loop, in turn; the quickest round of each counts."""
    sweeping.play_point = busy_point
    for workers in (1, 2):
        rounds = [(bare(workers), swept(workers)) for _ in range(ROUNDS)]
        alone, whole = (min(clock.wall_s for clock in clocks) for clocks in zip(*rounds, strict=True))
        extra_s = min(whole.cpu_s - alone.cpu_s for alone, whole in rounds)
        print(
            f"{workers} workers: bare {alone:.2f} s, sweep {whole:.2f} s ({whole / alone - 1:+.1%}); "
            f"processor here {extra_s:+.2f} s on {TASKS * TASK_S:g} s ({extra_s / (TASKS * TASK_S):+.1%})"
        )


def memory() -> None:
    """Peak memory of this process after so many points of real trials."""
    import resource

    for points in (50, 100, 200, 400):
        with TemporaryDirectory() as name:
            study = written(Path(name), BARE, scenario="one_trade", points=points, trials=10)
            sweeping.sweep(study, folder=Path(name) / "out")
        print(f"{points} points: peak {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")


def kills(trials: int, points: int, scenario: str) -> None:
    """Kill a sweep at random moments, again and again, and compare the tables."""
    chance = random.Random(1)
    with TemporaryDirectory() as name:
        study = written(Path(name), HEAD, scenario=scenario, points=points, trials=trials)
        begin = time.perf_counter()
        whole = sweeping.sweep(study, folder=Path(name) / "whole", workers=2).folder
        print(f"undisturbed: {time.perf_counter() - begin:.0f} s")
        out, killed = Path(name) / "killed", 0
        while True:
            towerpace = str(Path(sys.executable).parent / "towerpace")
            options = ["--out", str(out), "--workers", "2", "--no-figures"]
            process = subprocess.Popen([towerpace, "sweep", str(study), *options], stdout=subprocess.DEVNULL)
            begun = len(list((out / "parts").glob("point-*")))
            while process.poll() is None and len(list((out / "parts").glob("point-*"))) == begun:
                time.sleep(0.01)
            if killed < KILLS:
                time.sleep(chance.uniform(0, 8))
                if process.poll() is None:
                    process.kill()
                    killed += 1
            if process.wait() == 0:
                break
        same = all((whole / n).read_bytes() == (out / n).read_bytes() for n in ("study.csv", "study.parquet"))
        print(f"killed {killed} times: combined tables {'are the same bytes' if same else 'DIFFER'}")


def cluster(trials: int, points: int, scenario: str) -> None:
    """Kill a worker of a local cluster midway and compare the tables."""
    import distributed

    with TemporaryDirectory() as name:
        study = written(Path(name), HEAD, scenario=scenario, points=points, trials=trials)
        whole = sweeping.sweep(study, folder=Path(name) / "whole", workers=2).folder
        made = distributed.LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=":0")
        with made, distributed.Client(made) as client:
            victims, done = [next(iter(client.run(os.getpid).values()))], 0

            def kill_midway(count: int) -> None:
                nonlocal done
                done += count
                if victims and done >= points // 2:
                    os.kill(victims.pop(), signal.SIGKILL)

            out = sweeping.sweep(
                study,
                folder=Path(name) / "out",
                executor=client.get_executor(),
                workers=2,
                on_done=kill_midway,
            ).folder
        same = (whole / "study.csv").read_bytes() == (out / "study.csv").read_bytes()
        print(f"a worker killed: combined table {'is the same bytes' if same else 'DIFFERS'}")


def main() -> None:
    """Run one of the measurements."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("what", choices=["overhead", "memory", "kills", "cluster"])
    parser.add_argument("--trials", type=int, default=4)
    parser.add_argument("--points", type=int, default=POINTS)
    parser.add_argument("--scenario", default="gannet_wharf")
    given = parser.parse_args()
    if given.what in ("kills", "cluster"):
        run = kills if given.what == "kills" else cluster
        run(given.trials, given.points, given.scenario)
    else:
        (overhead if given.what == "overhead" else memory)()


if __name__ == "__main__":
    main()
