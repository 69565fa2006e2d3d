"""Trials on executors: the same numbers anywhere, and what is done is kept."""

import weakref
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import pytest

from towerpace.answers.measures import ForecastMeasure
from towerpace.answers.prepare import prepare
from towerpace.scenario import load
from towerpace.trials.job import Job
from towerpace.trials.player import BLOCK, TrialPlayer
from towerpace.trials.run import NothingDone, run_trials

SCENARIO = Path(__file__).parents[2] / "scenarios" / "one_hoist" / "scenario.toml"


@pytest.fixture(scope="module")
def job():
    ready = prepare(load(SCENARIO))
    return Job(ready.chooser, ForecastMeasure(ready.tower, None), seed=3)


def assert_equal(a, b):
    assert a.n == b.n
    for mine, other in ((a.values, b.values), (a.sums, b.sums)):
        assert mine.keys() == other.keys()
        assert all(np.array_equal(mine[key], other[key]) for key in mine)


def test_processes_threads_and_this_process_give_the_same_numbers(job):
    here = run_trials(job, trials=25, workers=1).outcomes
    assert_equal(here, run_trials(job, trials=25, workers=2).outcomes)
    with ThreadPoolExecutor(3) as threads:
        assert_equal(here, run_trials(job, trials=25, executor=threads).outcomes)


def test_a_longer_run_begins_with_the_shorter_one(job):
    short, long = (run_trials(job, trials=n).outcomes for n in (4, 9))
    assert np.array_equal(long.values["finish"][:4], short.values["finish"])


def test_trials_differ_and_seeds_differ(job):
    finish = run_trials(job, trials=8).outcomes.values["finish"]
    assert len(set(finish.tolist())) > 4
    other = Job(job.chooser, job.measure, seed=4)
    assert not np.array_equal(finish, run_trials(other, trials=8).outcomes.values["finish"])


def test_an_interrupt_keeps_the_trials_that_are_done(job):
    def stop_after(n):
        seen = []

        def on_done(count):
            seen.append(count)
            if sum(seen) >= n:
                raise KeyboardInterrupt

        return on_done

    whole = run_trials(job, trials=40).outcomes
    result = run_trials(job, trials=40, on_done=stop_after(6))
    assert result.interrupted
    assert result.outcomes.n == BLOCK
    assert np.array_equal(result.outcomes.values["finish"], whole.values["finish"][:BLOCK])
    with ThreadPoolExecutor(1) as threads:
        result = run_trials(job, trials=40, executor=threads, on_done=stop_after(BLOCK))
    assert result.interrupted
    assert BLOCK <= result.outcomes.n <= 40
    assert result.outcomes.n % BLOCK == 0
    assert np.array_equal(result.outcomes.values["finish"], whole.values["finish"][: result.outcomes.n])


def test_what_is_added_up_does_not_stay_block_by_block(job, monkeypatch):
    made, most = [], 0
    play = TrialPlayer.block

    def noting(player, start, stop):
        outcomes = play(player, start, stop)
        made.extend(weakref.ref(array) for array in outcomes.sums.values())
        return outcomes

    def on_done(_):
        nonlocal most
        most = max(most, sum(ref() is not None for ref in made))

    monkeypatch.setattr(TrialPlayer, "block", noting)
    whole = run_trials(job, trials=12 * BLOCK, on_done=on_done)
    assert whole.outcomes.n == BLOCK * len(made) == 12 * BLOCK
    assert 0 < most <= 2


def test_an_interrupt_before_the_first_trial_leaves_nothing(job, monkeypatch):
    def interrupted(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr(TrialPlayer, "block", interrupted)
    with pytest.raises(NothingDone):
        run_trials(job, trials=3)


@pytest.mark.parametrize(("trials", "workers"), [(0, 1), (1, 0)])
def test_counts_below_one_are_refused(job, trials, workers):
    with pytest.raises(ValueError, match="at least one"):
        run_trials(job, trials=trials, workers=workers)
