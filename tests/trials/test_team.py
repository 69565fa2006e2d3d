"""Processes that play beside this one: called when it is worth it, with the same numbers, and gone after."""

from __future__ import annotations

import multiprocessing
import threading
from pathlib import Path
from time import sleep

import pytest
from test_run import SCENARIO, assert_equal

from towerpace.answers.measures import ForecastMeasure
from towerpace.answers.prepare import prepare
from towerpace.scenario import load
from towerpace.trials import run, team
from towerpace.trials.job import Job
from towerpace.trials.player import BLOCK, TrialPlayer
from towerpace.trials.run import _Shared, run_trials
from towerpace.trials.team import COPY_S, IMPORT_S, Team


@pytest.fixture(scope="module")
def job():
    ready = prepare(load(SCENARIO))
    return Job(ready.chooser, ForecastMeasure(ready.tower, None), seed=3)


@pytest.fixture
def called_at_once(monkeypatch):
    """Others are called whatever is left, and how many is noted."""
    called = []
    monkeypatch.setattr(Team, "worth_calling", lambda *_, **__: 1)
    monkeypatch.setattr(Team, "may_thread", False)  # whatever threads an earlier test has left
    call = Team.call
    monkeypatch.setattr(Team, "call", lambda own, others: (called.append(others), call(own, others)))
    return called


@pytest.mark.slow
def test_trials_shared_with_another_process_have_the_same_numbers(job, called_at_once, monkeypatch):
    taken, take, play = [], _Shared._take, _Shared._play_one_block
    monkeypatch.setattr(_Shared, "_take", lambda own, done: taken.append(take(own, done)) or taken[-1])
    monkeypatch.setattr(_Shared, "_play_one_block", lambda own: (sleep(0.1), play(own))[1])
    with Team(2) as both:
        shared = run_trials(job, trials=600, executor=both).outcomes
        again = run_trials(job, trials=45, first=7, executor=both).outcomes
        folder = Path(both.file_of(job)).parent
        assert folder.is_dir()
    assert called_at_once
    assert sum(taken) > 0
    monkeypatch.undo()
    assert_equal(run_trials(job, trials=600).outcomes, shared)
    assert_equal(run_trials(job, trials=45, first=7).outcomes, again)
    assert not folder.exists()
    assert not multiprocessing.active_children()


@pytest.fixture
def in_threads(monkeypatch):
    """No copy may be made, and a thread is called whatever is left; trials that threads have played."""
    beside, played = run._block_beside, []

    def noting(play, start, stop):
        played.extend(range(start, stop))
        return beside(play, start, stop)

    monkeypatch.setattr(team, "may_copy", lambda: False)
    monkeypatch.setattr(Team, "worth_calling", lambda *_, **__: 1)
    monkeypatch.setattr(run, "_block_beside", noting)
    return played


def test_trials_shared_with_a_thread_have_the_same_numbers(job, in_threads):
    with Team(2) as both:
        shared = run_trials(job, trials=200, executor=both).outcomes
        again = run_trials(job, trials=45, first=7, executor=both).outcomes
        assert not both.is_called
    assert in_threads
    assert_equal(run_trials(job, trials=200).outcomes, shared)
    assert_equal(run_trials(job, trials=45, first=7).outcomes, again)


def test_a_thread_that_runs_out_of_memory_plays_its_block_one_by_one(job, in_threads, monkeypatch, caplog):
    play, refused = TrialPlayer._of_block, []

    def short_of_memory(player, trials):
        if trials.start in in_threads and not refused:
            refused.append(trials)
            raise MemoryError
        return play(player, trials)

    monkeypatch.setattr(TrialPlayer, "_of_block", short_of_memory)
    shared = run_trials(job, trials=200, workers=2).outcomes
    assert refused
    assert "one by one" in caplog.text
    assert_equal(run_trials(job, trials=200).outcomes, shared)


def test_an_interrupt_among_threads_keeps_what_is_done(job, in_threads):
    def stop(_):
        if in_threads:
            raise KeyboardInterrupt

    result = run_trials(job, trials=40 * BLOCK, workers=2, on_done=stop)
    assert result.interrupted
    assert 2 * BLOCK <= result.outcomes.n < 40 * BLOCK
    assert_equal(run_trials(job, trials=result.outcomes.n).outcomes, result.outcomes)
    assert all(not thread.name.startswith("towerpace") for thread in threading.enumerate())


def test_an_interrupt_keeps_what_is_done_and_leaves_nobody_behind(job, called_at_once):
    def stop(_):
        raise KeyboardInterrupt

    result = run_trials(job, trials=40 * BLOCK, workers=2, on_done=stop)
    assert result.interrupted
    assert result.outcomes.n == BLOCK
    assert not called_at_once
    assert not multiprocessing.active_children()


def test_others_are_called_only_where_each_has_more_to_play_than_its_start_takes(monkeypatch):
    monkeypatch.setattr(team, "cores", lambda: 8)
    monkeypatch.setattr(team, "may_copy", lambda: False)
    start_s = IMPORT_S + 0.5
    own = Team(16)
    assert own.worth_calling(left_s=1.9 * start_s, start_s=0.5) == 0
    assert own.worth_calling(left_s=2.1 * start_s, start_s=0.5) == 1
    assert own.worth_calling(left_s=1000 * start_s, start_s=0.5) == 7
    assert Team(3).worth_calling(left_s=1000 * start_s, start_s=0.5) == 2
    assert Team(1).worth_calling(left_s=1000 * start_s, start_s=0.5) == 0
    monkeypatch.setattr(team, "may_copy", lambda: True)
    assert Team(16).worth_calling(left_s=2.1 * COPY_S, start_s=0.5) == 1
