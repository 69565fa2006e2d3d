"""The machinery of sweeps: kills are survived, workers are checked, nobody is left behind."""

import os
import random
import shutil
import signal
import subprocess
import sys
from concurrent.futures import BrokenExecutor, Executor, Future
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from support.ends import ends, has_ended
from towerpace.answers.forecast import forecast
from towerpace.answers.sweep.design import Design
from towerpace.answers.sweep.executors import Carrier
from towerpace.answers.sweep.plan import Study
from towerpace.answers.sweep.source import packed
from towerpace.answers.sweep.sweep import sweep
from towerpace.answers.sweep.tasks import check_point, play_point
from towerpace.faults import InputError
from towerpace.scenario.load import load
from towerpace.scenario.study import read_study
from towerpace.trials.cluster import Cluster
from towerpace.trials.processes import Processes

SCENARIOS = Path(__file__).parents[2] / "scenarios"
# Killed by an alarm of its own soon after the first part, so that a busy machine cannot be late for it.
RUN = """\
import signal
import sys
from towerpace.answers.sweep.sweep import sweep

if __name__ == "__main__":
    path, folder, workers, after_s = sys.argv[1:]
    begun = []

    def on_done(_):
        begun.append(True)
        if len(begun) == 2 and float(after_s):  # the first call tells of the parts that were there
            signal.setitimer(signal.ITIMER_REAL, float(after_s))

    sweep(path, folder=folder, workers=int(workers), on_done=on_done)
"""
STUDY = """\
[study]
name = "Two dozen"
scenario = "one_trade/scenario.toml"
design = "grid"
trials = 20
seed = 2
keep_trials = true
responses = ["finish.p80", "ledger.brackets.outside_shift"]

[factor.gangs]
key = "resource.bracket_gang.count"
values = [1, 2, 3, 4]
[factor.slip]
key = "structure.slip_days.high"
values = [1, 2, 3, 4, 5, 6]
"""


@pytest.fixture
def path(tmp_path):
    return written(tmp_path)


def written(folder):
    shutil.copytree(SCENARIOS / "one_trade", folder / "one_trade")
    file = folder / "study.toml"
    file.write_text(STUDY, encoding="utf-8")
    return file


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    """The folder of the study when nothing happens to it."""
    folder = tmp_path_factory.mktemp("undisturbed")
    sweep(written(folder), folder=folder / "whole")
    return folder / "whole"


def code_of_run(path, out, *, workers, after_s):
    script = path.parent / "run.py"
    script.write_text(RUN, encoding="utf-8")
    words = [sys.executable, script, path, out, str(workers), str(after_s)]
    return subprocess.run(words, check=False).returncode


@pytest.mark.slow
@pytest.mark.skipif(os.name == "nt", reason="Windows has no alarms")
def test_kills_at_random_moments_leave_no_trace_in_the_table(path, tmp_path, whole):
    """Nobody handles the alarm, so that it ends the process at once, as SIGKILL does."""
    chance, out = random.Random(8), tmp_path / "killed"
    moments = [chance.uniform(0.001, 0.06) for _ in range(3)]
    codes = [code_of_run(path, out, workers=1 + k % 2, after_s=after_s) for k, after_s in enumerate(moments)]
    assert set(codes) <= {0, -signal.SIGALRM}
    assert codes.count(-signal.SIGALRM) >= 2, "the study was over before it could be killed"
    assert code_of_run(path, out, workers=2, after_s=0) == 0
    for name in ("study.csv", "study.parquet"):
        if (whole / name).exists():
            assert (whole / name).read_bytes() == (out / name).read_bytes()


def test_workers_end_with_a_parent_that_is_killed(tmp_path):
    script = tmp_path / "parent.py"
    script.write_text(
        "import os, time\n"
        "from towerpace.trials.processes import Processes\n"
        "if __name__ == '__main__':\n"
        "    pool = Processes(1)\n"
        "    print(pool.submit(os.getpid).result(), flush=True)\n"
        "    pool.submit(time.sleep, 60)\n"
        "    time.sleep(60)\n",
        encoding="utf-8",
    )
    parent = subprocess.Popen([sys.executable, script], stdout=subprocess.PIPE, text=True)
    worker = int(parent.stdout.readline())
    parent.kill()
    parent.wait()
    parent.stdout.close()
    assert ends(lambda: is_gone(worker)), "the worker outlived its parent"


def is_gone(worker):
    try:
        os.kill(worker, 0)
    except ProcessLookupError:
        return True
    # Ended, it only waits for whoever collects orphans here.
    return Path("/proc/self").exists() and has_ended(worker)


def die_once(marker):
    if not Path(marker).exists():
        Path(marker).touch()
        os.kill(os.getpid(), signal.SIGKILL)
    return "done"


def test_a_killed_worker_is_replaced_and_its_task_done_again(tmp_path):
    pool = Processes(1)
    try:
        results = Carrier(pool, die_once, window=2).results([str(tmp_path / "a"), str(tmp_path / "a")])
        assert list(results) == ["done", "done"]
    finally:
        pool.shutdown(cancel_futures=True)


# As a library of clusters names the loss of a worker; only the name is looked at.
KilledWorker = type("KilledWorker", (Exception,), {})


class Losing(Executor):
    """Loses every task a number of times."""

    def __init__(self, times):
        self._left = times

    def submit(self, fn, /, *args, **kwargs):
        future = Future()
        if self._left:
            self._left -= 1
            future.set_exception(KilledWorker())
        else:
            future.set_result(fn(*args, **kwargs))
        return future


def test_lost_tasks_are_sent_again_a_few_times_only():
    assert list(Carrier(Losing(4), abs, window=1).results([-3])) == [3]
    with pytest.raises(BrokenExecutor, match="KilledWorker"):
        list(Carrier(Losing(5), abs, window=1).results([-3]))


class Counting(Losing):
    """Keeps tasks until four wait, and remembers the most that were in flight."""

    def __init__(self):
        super().__init__(0)
        self.taken = 0

    def submit(self, fn, /, *args, **kwargs):
        self.taken += 1
        return super().submit(fn, *args, **kwargs)


def test_only_a_window_of_tasks_is_made_at_a_time():
    made, pool = 0, Counting()

    def tasks():
        nonlocal made
        for k in range(100):
            made += 1
            yield k

    results = Carrier(pool, abs, window=4).results(tasks())
    next(results)
    assert made == pool.taken == 4
    assert len(list(results)) == 99


def one_task(path):
    study = Study(read_study(path))
    study.load_points()
    study.pack()
    return study.task(study.design.point(1))


def test_a_worker_of_another_version_says_so(path):
    with pytest.raises(InputError, match=r"version: found towerpace .*; allowed: towerpace 0.0.0, as where"):
        play_point(replace(one_task(path), version="0.0.0"))


def test_a_worker_that_sees_another_scenario_says_so(path):
    task = one_task(path)
    with pytest.raises(InputError, match=r"scenario: found hash .*; allowed: hash 123456789012, as where"):
        play_point(replace(task, hash="123456789012345"))


def test_packed_files_make_the_same_scenario_where_the_folder_is_not_seen(path, tmp_path):
    task = one_task(path)
    shutil.rmtree(tmp_path / "one_trade")
    assert check_point(task).faults == ()
    assert play_point(task).estimates[0].trials == 20


def test_packed_files_keep_their_way_to_neighbouring_folders(tmp_path):
    (tmp_path / "weather").mkdir()
    (tmp_path / "weather" / "record.csv").write_text("wind", encoding="utf-8")
    (tmp_path / "tower").mkdir()
    (tmp_path / "tower" / "scenario.toml").write_text("", encoding="utf-8")
    source = packed(str(tmp_path / "tower" / "scenario.toml"), ["../weather/record.csv"])
    shutil.rmtree(tmp_path / "weather")
    assert (Path(source.place()).parent / "../weather/record.csv").read_text() == "wind"


def test_studies_and_forecasts_on_a_cluster_survive_a_killed_worker(path, tmp_path, whole):
    distributed = pytest.importorskip("distributed", reason="an extra: many machines")
    # Its only worker: whatever was sent to it is lost.
    cluster = distributed.LocalCluster(
        n_workers=1, threads_per_worker=1, dashboard_address=":0", silence_logs=50
    )
    with cluster, distributed.Client(cluster) as client:
        victims = []

        def kill_one(_):
            if victims:
                os.kill(victims.pop(), signal.SIGKILL)

        victims += client.run(os.getpid).values()
        sweep(path, folder=tmp_path / "cluster", executor=Cluster(client), workers=1, on_done=kill_one)
        assert not victims
        victims += client.run(os.getpid).values()
        scenario = load(path.parent / "one_trade" / "scenario.toml")
        played = forecast(scenario, trials=60, seed=2, executor=Cluster(client), on_done=kill_one)
        assert not victims
    assert np.array_equal(played.finish, forecast(scenario, trials=60, seed=2).finish)
    assert (whole / "study.csv").read_bytes() == (tmp_path / "cluster" / "study.csv").read_bytes()


def test_points_are_made_when_they_are_needed(path):
    design = Design(read_study(path))
    assert not hasattr(design, "points")
    assert design.point(24).cells == (4, 6)
