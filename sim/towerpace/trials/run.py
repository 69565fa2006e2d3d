"""Many trials on any executor of `concurrent.futures`: same numbers whatever the workers and their order."""

from __future__ import annotations

import gc
import pickle
import signal
from collections.abc import Callable, Mapping
from concurrent.futures import Executor, ProcessPoolExecutor, as_completed
from dataclasses import dataclass, replace
from functools import lru_cache
from multiprocessing import get_context

from towerpace.draws import SHARED, Chooser, Draw
from towerpace.engine.fastest import EngineName, engine_named
from towerpace.engine.openings import Openings
from towerpace.trials.collector import collector_at_rest
from towerpace.trials.outcome import Measure, Outcome, Outcomes, Pile, Reader, joined, stacked, sum_of
from towerpace.units import Ints

BLOCK = 10  # trials sent to a worker at a time


@dataclass(frozen=True)
class Job:
    """What a trial needs: how it is drawn, the seed, and what is wanted of it.

    one_of_many : whether other set-ups are played under the same seed in the same process, so that what they
        share is drawn once.
    engine : which plays the trials; the numbers do not depend on it.
    """

    chooser: Chooser
    measure: Measure
    seed: int
    one_of_many: bool = False
    engine: EngineName = "fastest"


@dataclass(frozen=True)
class TrialsPlayed:
    """Outcomes of the finished trials, in order from trial 0; `interrupted` if some are missing."""

    outcomes: Outcomes
    interrupted: bool


class NothingDone(KeyboardInterrupt):
    """Interrupted before the first trial was finished."""


def run_trials(
    job: Job,
    *,
    trials: int,
    first: int = 0,
    workers: int = 1,
    executor: Executor | None = None,
    on_done: Callable[[int], None] = lambda _: None,
) -> TrialsPlayed:
    """Play so many trials, from the first on.

    workers : processes; 1 plays them here. executor : takes the place of our own processes.
    on_done : told how many trials have just been finished.

    Ctrl-C keeps what is done: the trials up to the first that is missing. Raises `NothingDone`
    if that is none, `ValueError` for fewer than one trial or worker.
    """
    if trials < 1 or workers < 1:
        raise ValueError(f"need at least one trial and one worker, got {trials} and {workers}")
    if executor is not None:
        return _on(executor, packed(job), range(first, first + trials), on_done)
    if workers == 1:
        return _here(job, range(first, first + trials), on_done)
    context = get_context("spawn")
    with ProcessPoolExecutor(
        workers, mp_context=context, initializer=_begin_work, initargs=(packed(job),)
    ) as pool:
        # Our own workers have the job already: a large plan is not sent again with every block.
        return _on(pool, IN_HAND, range(first, first + trials), on_done)


def played(
    job: Job,
    *,
    trials: int,
    first: int = 0,
    executor: Executor | None = None,
    on_done: Callable[[int], None] = lambda _: None,
) -> Outcomes:
    """Outcomes of so many trials from the first on, all of them; Ctrl-C raises `KeyboardInterrupt`."""
    result = run_trials(job, trials=trials, first=first, executor=executor, on_done=on_done)
    if result.interrupted:
        raise KeyboardInterrupt
    return result.outcomes


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


def _here(job: Job, trials: range, on_done: Callable[[int], None]) -> TrialsPlayed:
    play, pile = TrialPlayer(job), Pile()
    try:
        for trial in trials:
            pile.add(play(trial))
            on_done(1)
    except KeyboardInterrupt:
        if not pile.n:
            raise NothingDone from None
        return TrialsPlayed(pile.outcomes(), interrupted=True)
    return TrialsPlayed(pile.outcomes(), interrupted=False)


def _on(executor: Executor, job: bytes, trials: range, on_done: Callable[[int], None]) -> TrialsPlayed:
    blocks = _Blocks()
    waiting = {
        executor.submit(play_block, job, start, min(start + BLOCK, trials.stop)): start - trials.start
        for start in range(trials.start, trials.stop, BLOCK)
    }
    try:
        for future in as_completed(list(waiting)):
            outcomes = future.result()
            blocks.add(waiting.pop(future), outcomes)
            on_done(outcomes.n)
    except KeyboardInterrupt:
        executor.shutdown(wait=True, cancel_futures=True)
        for future, start in waiting.items():
            if future.done() and not future.cancelled():
                blocks.add(start, future.result())
        return blocks.result(interrupted=True)
    return blocks.result(interrupted=False)


class _Blocks:
    """Blocks of outcomes as they come, put together in order.

    What is added over the trials is large. It is added up at once, so that memory grows only by what is kept
    of every trial.
    """

    def __init__(self) -> None:
        self._parts: list[Outcomes] = []
        self._early: dict[int, Outcomes] = {}
        # Number of parts, of trials, and their sums: one assignment, which Ctrl-C cannot leave half done.
        self._whole: tuple[int, int, Mapping[str, Ints]] = (0, 0, {})

    def add(self, start: int, outcomes: Outcomes) -> None:
        """Take the block that begins with trial `start`; one that comes before its turn waits."""
        self._early[start] = outcomes
        while (due := self._early.pop(self._whole[1], None)) is not None:
            parts, n, sums = self._whole
            self._parts[parts:] = [replace(due, sums={})]
            added = {key: sum_of([sums[key], due.sums[key]]) for key in sums} or due.sums
            self._whole = (parts + 1, n + due.n, added)

    def result(self, *, interrupted: bool) -> TrialsPlayed:
        """All blocks from the first up to the first that is missing; raises `NothingDone` if that is none."""
        parts, n, sums = self._whole
        if not n:
            raise NothingDone from None
        return TrialsPlayed(replace(joined(self._parts[:parts]), sums=sums), interrupted)


def play_block(job: bytes, start: int, stop: int) -> Outcomes:
    """Trials start .. stop - 1 of a packed job, or of the job in hand; a worker unpacks a job only once."""
    play = _player_of(job or _in_hand[0])
    return stacked(play(trial) for trial in range(start, stop))


@lru_cache(maxsize=16)
def _player_of(job: bytes) -> TrialPlayer:
    with collector_at_rest():
        return TrialPlayer(pickle.loads(job))


class TrialPlayer:
    """Plays trials of one job in this process."""

    def __init__(self, job: Job) -> None:
        self._chooser, self._seed = job.chooser, job.seed
        self._shares = job.chooser.fingerprint() if job.one_of_many else None
        self._read: Reader = job.measure.reader()
        self._run = engine_named(job.engine)
        # The plan and what was prepared live as long as the job: the collector need not look at them again.
        gc.collect()
        gc.freeze()

    def __call__(self, trial: int) -> Outcome:
        plan = self._chooser.plan
        draw = self._draw(trial)
        openings = Openings(plan.windows, hours=draw.hours, horizon=plan.horizon)
        return self._read(draw, openings, self._run(plan, draw, openings=openings))

    def _draw(self, trial: int) -> Draw:
        if self._shares is None:
            return self._chooser.draw(self._seed, trial)
        return SHARED.draw(self._chooser, self._shares, seed=self._seed, trial=trial)
