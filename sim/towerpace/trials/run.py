"""Many trials on any executor of `concurrent.futures`: same numbers whatever the workers and their order."""

from __future__ import annotations

import gc
import pickle
import signal
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, Future, ProcessPoolExecutor, as_completed
from dataclasses import dataclass
from functools import lru_cache
from multiprocessing import get_context

from towerpace.draws import Chooser
from towerpace.engine.fastest import fastest
from towerpace.engine.openings import Openings
from towerpace.trials.collector import collector_at_rest
from towerpace.trials.outcome import Measure, Outcome, Outcomes, Reader, joined, stacked

BLOCK = 10  # trials sent to a worker at a time


@dataclass(frozen=True)
class Job:
    """What a trial needs: how it is drawn, the seed, and what is wanted of it."""

    chooser: Chooser
    measure: Measure
    seed: int


@dataclass(frozen=True)
class Result:
    """Outcomes of the finished trials, in order from trial 0; `interrupted` if some are missing."""

    outcomes: Outcomes
    interrupted: bool


class NothingDone(KeyboardInterrupt):
    """Interrupted before the first trial was finished."""


def run_trials(
    job: Job,
    *,
    trials: int,
    workers: int = 1,
    executor: Executor | None = None,
    on_done: Callable[[int], None] = lambda _: None,
) -> Result:
    """Play trials 0 .. trials - 1.

    workers : processes; 1 plays them here. executor : takes the place of our own processes.
    on_done : told how many trials have just been finished.

    Ctrl-C keeps what is done: the trials from 0 up to the first that is missing. Raises `NothingDone`
    if that is none, `ValueError` for fewer than one trial or worker.
    """
    if trials < 1 or workers < 1:
        raise ValueError(f"need at least one trial and one worker, got {trials} and {workers}")
    if executor is not None:
        return _on(executor, packed(job), trials=trials, on_done=on_done)
    if workers == 1:
        return _here(job, trials=trials, on_done=on_done)
    context = get_context("spawn")
    with ProcessPoolExecutor(
        workers, mp_context=context, initializer=_begin_work, initargs=(packed(job),)
    ) as pool:
        # Our own workers have the job already: a large plan is not sent again with every block.
        return _on(pool, IN_HAND, trials=trials, on_done=on_done)


def packed(job: Job) -> bytes:
    """A job as it is sent to workers."""
    with collector_at_rest():
        return pickle.dumps(job)


IN_HAND = b""
_in_hand = [IN_HAND]


def _begin_work(job: bytes) -> None:
    """Start a worker of our own pool with the one job it will get."""
    ignore_interrupts()
    _in_hand[0] = job


def ignore_interrupts() -> None:
    """Ctrl-C reaches every process of a terminal; only the parent acts on it."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)


def _here(job: Job, *, trials: int, on_done: Callable[[int], None]) -> Result:
    play, done = _Player(job), []
    try:
        for trial in range(trials):
            done.append(play(trial))
            on_done(1)
    except KeyboardInterrupt:
        if not done:
            raise NothingDone from None
        return Result(stacked(done), interrupted=True)
    return Result(stacked(done), interrupted=False)


def _on(executor: Executor, job: bytes, *, trials: int, on_done: Callable[[int], None]) -> Result:
    blocks = [range(a, min(a + BLOCK, trials)) for a in range(0, trials, BLOCK)]
    futures = [executor.submit(play_block, job, block.start, block.stop) for block in blocks]
    try:
        for future in as_completed(futures):
            on_done(future.result().n)
    except KeyboardInterrupt:
        executor.shutdown(wait=True, cancel_futures=True)
        parts = list(_finished(futures))
        if not parts:
            raise NothingDone from None
        return Result(joined(parts), interrupted=True)
    return Result(joined([future.result() for future in futures]), interrupted=False)


def _finished(futures: list[Future[Outcomes]]) -> Iterator[Outcomes]:
    """Results from the first block up to the first that is missing."""
    for future in futures:
        if not future.done() or future.cancelled():
            return
        yield future.result()


def play_block(job: bytes, start: int, stop: int) -> Outcomes:
    """Trials start .. stop - 1 of a packed job, or of the job in hand; a worker unpacks a job only once."""
    play = _player(job or _in_hand[0])
    return stacked([play(trial) for trial in range(start, stop)])


@lru_cache(maxsize=16)
def _player(job: bytes) -> _Player:
    with collector_at_rest():
        return _Player(pickle.loads(job))


class _Player:
    """Plays trials of one job."""

    def __init__(self, job: Job) -> None:
        self._chooser, self._seed = job.chooser, job.seed
        self._read: Reader = job.measure.reader()
        self._run = fastest()
        # The plan and what was prepared live as long as the job: the collector need not look at them again.
        gc.collect()
        gc.freeze()

    def __call__(self, trial: int) -> Outcome:
        plan = self._chooser.plan
        draw = self._chooser.draw(self._seed, trial)
        openings = Openings(plan.windows, hours=draw.hours, horizon=plan.horizon)
        return self._read(draw, openings, self._run(plan, draw, openings=openings))
