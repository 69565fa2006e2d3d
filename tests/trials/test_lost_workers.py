"""Workers that are killed or run out of memory: their work is done again, and what is finished is kept."""

import logging
import os
import signal
from concurrent.futures import BrokenExecutor, Executor, Future
from concurrent.futures.process import BrokenProcessPool
from pathlib import Path

import numpy as np
import pytest

from towerpace.answers.choice.lab import FinishMeasure
from towerpace.answers.prepare import prepare
from towerpace.scenario import load
from towerpace.trials.job import Job
from towerpace.trials.player import BLOCK, TrialPlayer
from towerpace.trials.processes import TRIES, Processes, WorkersLostError
from towerpace.trials.run import run_trials

SCENARIO = Path(__file__).parents[2] / "scenarios" / "one_trade" / "scenario.toml"


@pytest.fixture(scope="module")
def job():
    return Job(prepare(load(SCENARIO)).chooser, FinishMeasure(None), seed=3)


@pytest.fixture
def processes():
    with Processes(2) as pool:
        yield pool


def die(marker):
    if not Path(marker).exists():
        Path(marker).touch()
        os.kill(os.getpid(), signal.SIGKILL)
    return "done"


def run_out_of_memory(marker):
    if not Path(marker).exists():
        Path(marker).touch()
        raise MemoryError
    return "done"


@pytest.mark.skipif(os.name == "nt", reason="Windows has no SIGKILL")
def test_what_lost_workers_did_is_done_again_on_fewer_after_the_second_loss(tmp_path, processes, caplog):
    killed = processes.submit(die, str(tmp_path / "killed"))
    assert killed.result(timeout=60) == "done"
    assert processes.workers == 2

    full = processes.submit(run_out_of_memory, str(tmp_path / "full"))
    assert full.result(timeout=60) == "done"
    assert processes.workers == 1
    assert [record.getMessage() for record in caplog.records if record.levelno == logging.WARNING] == [
        "A worker process was lost, as by lack of memory: its part is done again.",
        "A worker process was lost, as by lack of memory: its part is done again, on 1 worker from here on.",
    ]


def always_run_out():
    raise MemoryError


@pytest.mark.slow
def test_losses_without_end_are_told(processes):
    with pytest.raises(WorkersLostError, match=f"lost {TRIES} times with nothing done"):
        processes.submit(always_run_out).result(timeout=120)


class Losing(Executor):
    """Works at once, but loses the blocks that begin with some trials a number of times."""

    def __init__(self, *starts, times, cancels=False):
        self._left, self._cancels = dict.fromkeys(starts, times), cancels

    def submit(self, fn, /, job, start, stop):
        future = Future()
        if self._left.get(start, 0) > 0:
            self._left[start] -= 1
            if self._cancels:  # as a cluster does that has lost what the task needs
                future.cancel()
                future.set_running_or_notify_cancel()
            else:
                future.set_exception(BrokenProcessPool("a worker was killed"))
        else:
            future.set_result(fn(job, start, stop))
        return future


@pytest.mark.parametrize("cancels", [False, True])
def test_lost_blocks_are_played_again_with_the_same_numbers(job, cancels):
    whole = run_trials(job, trials=3 * BLOCK).outcomes.values["finish"]
    again = run_trials(job, trials=3 * BLOCK, executor=Losing(0, BLOCK, times=TRIES - 1, cancels=cancels))
    assert not again.interrupted
    assert np.array_equal(again.outcomes.values["finish"], whole)


def test_a_block_that_is_lost_again_and_again_leaves_what_was_played_before_it(job, caplog):
    whole = run_trials(job, trials=3 * BLOCK).outcomes.values["finish"]
    part = run_trials(job, trials=3 * BLOCK, executor=Losing(2 * BLOCK, times=TRIES))
    assert part.interrupted
    assert np.array_equal(part.outcomes.values["finish"], whole[: 2 * BLOCK])
    assert "what is finished is kept" in caplog.text
    with pytest.raises(BrokenProcessPool):
        run_trials(job, trials=3 * BLOCK, executor=Losing(0, times=TRIES))
    with pytest.raises(BrokenExecutor, match="its task was cancelled"):
        run_trials(job, trials=3 * BLOCK, executor=Losing(0, times=TRIES, cancels=True))


def test_memory_that_runs_out_in_this_process_leaves_what_was_played(job, monkeypatch):
    draw = TrialPlayer._draw

    def running_out(player, trial):
        if trial == 4:
            raise MemoryError
        return draw(player, trial)

    def no_room(*_):
        raise MemoryError

    monkeypatch.setattr(TrialPlayer, "_draws", no_room)
    monkeypatch.setattr(TrialPlayer, "_draw", running_out)
    part = run_trials(job, trials=9)
    assert part.interrupted
    assert part.outcomes.n == 4
