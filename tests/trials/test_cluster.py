"""A forecast on the workers of a cluster: the same numbers, and a job that is sent once."""

from __future__ import annotations

import pickle
from pathlib import Path

import numpy as np
import pytest

from towerpace import load
from towerpace.answers.forecast import forecast
from towerpace.answers.measures import ForecastMeasure
from towerpace.answers.prepare import prepare
from towerpace.faults import InputError
from towerpace.trials import run
from towerpace.trials.cluster import Cluster
from towerpace.trials.job import Job
from towerpace.trials.run import packed, play_block, run_trials

ONE_TRADE = Path(__file__).parents[2] / "scenarios" / "one_trade" / "scenario.toml"
TRIALS = 120


@pytest.fixture(scope="module")
def job():
    ready = prepare(load(ONE_TRADE))
    return Job(ready.chooser, ForecastMeasure(ready.tower, None), seed=1)


@pytest.fixture(scope="module")
def alone():
    return forecast(load(ONE_TRADE), trials=TRIALS, seed=1)


@pytest.fixture(scope="module")
def client():
    distributed = pytest.importorskip("distributed", reason="an extra: many machines")
    # Two threads, as whoever starts a worker with the defaults of the library has them.
    alike = {"n_workers": 1, "threads_per_worker": 2, "dashboard_address": ":0", "silence_logs": 50}
    made = distributed.LocalCluster(processes=False, **alike)
    with made, distributed.Client(made) as client:
        yield client


class Watched(Cluster):
    """Remembers what it was given to send."""

    def __init__(self, client):
        super().__init__(client)
        self.laid, self.arguments = 0, []

    def laid_out(self, data):
        self.laid += 1
        return super().laid_out(data)

    def submit(self, fn, /, *args):
        self.arguments.append(args)
        return super().submit(fn, *args)


def test_the_job_goes_to_a_cluster_once_and_tasks_are_small(client, alone):
    executor = Watched(client)
    played = forecast(load(ONE_TRADE), trials=TRIALS, seed=1, executor=executor)
    assert np.array_equal(played.finish, alone.finish)
    assert np.array_equal(played.ledger_by_level_h, alone.ledger_by_level_h)
    assert executor.laid == 1
    assert all(stop - start <= 20 for _, start, stop in executor.arguments)
    assert max(len(pickle.dumps(arguments[1:])) for arguments in executor.arguments) < 100


def test_ctrl_c_keeps_the_trials_of_a_cluster_that_are_done(client, job):
    executor, done = Cluster(client), []

    def interrupt(count):
        done.append(count)
        if len(done) == 3:
            raise KeyboardInterrupt

    played = run_trials(job, trials=4000, executor=executor, on_done=interrupt)
    assert played.interrupted
    assert 0 < played.outcomes.n < 4000
    alone = run_trials(job, trials=played.outcomes.n).outcomes
    assert np.array_equal(played.outcomes.values["finish"], alone.values["finish"])


def test_trials_that_another_version_sent_are_refused(job, monkeypatch):
    with monkeypatch.context() as elsewhere:
        elsewhere.setattr(run, "__version__", "0.0.1")
        sent = packed(job)
    with pytest.raises(InputError, match=r"towerpace: found .*; allowed: 0.0.1, as where"):
        play_block(sent, 0, 1)
