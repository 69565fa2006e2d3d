"""Many trials on any executor of `concurrent.futures`: same numbers whatever the workers and their order."""

from __future__ import annotations

import logging
import os
import pickle
from collections.abc import Callable, Iterable, Iterator, Mapping
from concurrent.futures import FIRST_COMPLETED, BrokenExecutor, Executor, Future, as_completed, wait
from contextlib import contextmanager
from dataclasses import dataclass, replace
from functools import lru_cache
from io import BytesIO
from math import inf, isfinite
from pathlib import Path
from socket import gethostname
from threading import get_ident
from time import perf_counter

from towerpace import __version__
from towerpace.faults import Fault, InputError
from towerpace.trials.cluster import Cluster
from towerpace.trials.collector import collector_at_rest
from towerpace.trials.job import Job
from towerpace.trials.kept import Kept
from towerpace.trials.outcome import (
    Outcomes,
    Pile,
    joined,
    sum_of,
)
from towerpace.trials.player import BLOCK, TrialPlayer
from towerpace.trials.processes import TRIES, WorkersLostError, is_lost, loss_of
from towerpace.trials.team import Team
from towerpace.units import Ints

FIRST_BLOCK_S = 2.0  # at most so much is done once in each process; more was compiling, done once for all
_STOPPED = "Stopped, as %s: what is finished is kept."
_log = logging.getLogger("towerpace")


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

    workers : processes at most, this one among them, or threads where no copy of it may be made; others are
        called when there is enough to play.
    executor : takes the place of our own processes; a `Team` may serve many jobs.
    on_done : told how many trials have just been finished.

    Ctrl-C keeps what is done: the trials up to the first that is missing; so does a lack of memory that no
    smaller number of workers mends. Raises `NothingDone` if that is none, `ValueError` for fewer than one
    trial or worker.
    """
    if trials < 1 or workers < 1:
        raise ValueError(f"need at least one trial and one worker, got {trials} and {workers}")
    blocks = range(first, first + trials)
    if isinstance(executor, Team):
        return _together(executor, job, blocks, on_done)
    if executor is not None:
        return _on(executor, job, blocks, on_done)
    if workers == 1:
        return _here(job, blocks, on_done)
    with Team(workers) as team:
        return _together(team, job, blocks, on_done)


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
    """A job as it is sent to workers, behind the version that packed it."""
    with collector_at_rest():
        return pickle.dumps(__version__) + pickle.dumps(job)


def sent_to(executor: Executor, job: Job) -> bytes | str:
    """A job as `play_block` takes it: packed, laid out on a cluster, or where our own processes read it."""
    if isinstance(executor, Team):
        return executor.file_of(job)
    return executor.laid_out(packed(job)) if isinstance(executor, Cluster) else packed(job)


def _here(job: Job, trials: range, on_done: Callable[[int], None]) -> TrialsPlayed:
    play = TrialPlayer(job)
    pile: Pile | _Blocks = _Blocks() if play.is_in_blocks else Pile()
    try:
        for n in _piled(play, trials, pile):
            on_done(n)
    except KeyboardInterrupt:
        if not pile.n:
            raise NothingDone from None
        return TrialsPlayed(pile.outcomes(), interrupted=True)
    except MemoryError:
        if not pile.n:
            raise
        _log.warning(_STOPPED, "memory ran out")
        return TrialsPlayed(pile.outcomes(), interrupted=True)
    return TrialsPlayed(pile.outcomes(), interrupted=False)


def _piled(play: TrialPlayer, trials: range, pile: Pile | _Blocks) -> Iterator[int]:
    """Put trials on a pile as they are played, block by block or one by one; how many each time."""
    if isinstance(pile, Pile):
        for trial in trials:
            pile.add(play(trial))
            yield 1
        return
    left = trials
    while left:
        size = BLOCK if play.is_in_blocks else 1
        try:
            pile.add(left.start - trials.start, play.block(left.start, left[:size].stop))
        except MemoryError:
            if not play.is_in_blocks:
                raise
            play.go_one_by_one()
            continue
        yield len(left[:size])
        left = left[size:]


def _together(team: Team, job: Job, trials: range, on_done: Callable[[int], None]) -> TrialsPlayed:
    """Play here, and on others as soon as what is left is worth calling them."""
    shared = _Shared(team, job, trials)
    try:
        while shared.is_left():
            for n in shared.step():
                on_done(n)
    except KeyboardInterrupt:
        team.shutdown()
        return shared.blocks.result(interrupted=True)
    except (BrokenExecutor, MemoryError) as error:
        team.shutdown()
        if not shared.blocks.n:
            raise
        _log.warning(_STOPPED, error if isinstance(error, BrokenExecutor) else "memory ran out")
        return shared.blocks.result(interrupted=True)
    return shared.blocks.result(interrupted=False)


class _Shared:
    """Trials of one job that this process and others share block by block."""

    def __init__(self, team: Team, job: Job, trials: range) -> None:
        self.blocks = _Blocks()
        self._team, self._job, self._trials = team, job, trials
        self._left = trials
        self._waiting: dict[Future[tuple[int, Outcomes]], int] = {}
        self._met: set[int] = set()
        self._is_worth = self._in_threads = False
        begin = perf_counter()
        self._play = TrialPlayer(job)
        self._start_s, self._trial_s = perf_counter() - begin, inf

    def is_left(self) -> bool:
        """Whether any trial is not played."""
        return bool(self._left or self._waiting)

    def step(self) -> Iterator[int]:
        """Take what others have done, give them more, and play a block here; how many trials that were."""
        if not self._left:
            wait(self._waiting, return_when=FIRST_COMPLETED)
        for future in [future for future in self._waiting if future.done()]:
            yield self._take(future)
        self._give()
        if self._left:
            yield self._play_one_block()

    def _play_one_block(self) -> int:
        start, stop = self._next_block()
        begin = perf_counter()
        outcomes = self._play.block(start, stop)
        spent_s = perf_counter() - begin
        self.blocks.add(start - self._trials.start, outcomes)
        if isfinite(self._trial_s):
            self._trial_s = min(self._trial_s, spent_s / outcomes.n)
        else:  # the first block makes much that others will have to make for themselves
            self._start_s += min(spent_s, FIRST_BLOCK_S)
            self._trial_s = spent_s / outcomes.n
        return outcomes.n

    def _take(self, future: Future[tuple[int, Outcomes]]) -> int:
        number, outcomes = future.result()
        self._met.add(number)
        start = self._waiting.pop(future)
        if outcomes.n:
            self.blocks.add(start, outcomes)
        return outcomes.n

    def _give(self) -> None:
        """Keep two blocks with each of the others that is there, and one for who comes next."""
        if not self._is_worth:
            self._call()
        while self._is_worth and self._met and self._left and len(self._waiting) <= 2 * len(self._met):
            start, stop = self._next_block()
            self._send(start, stop)

    def _call(self) -> None:
        """Call as many others as are worth it, each to make the job ready."""
        if self.blocks.n < 2 * BLOCK:
            return
        left_s = self._trial_s * len(self._left)
        self._in_threads = self._play.reads_blocks and self._team.may_thread
        others = self._team.worth_calling(left_s=left_s, start_s=self._start_s, in_threads=self._in_threads)
        if others > 0:
            self._is_worth = True
            if not self._in_threads:
                with _at_hand(self._team.file_of(self._job), self._play):
                    self._team.call(others)
        for _ in range(others):
            self._send(self._trials.start, self._trials.start)

    def _send(self, start: int, stop: int) -> None:
        if self._in_threads:
            future = self._team.submit_beside(_block_beside, self._play, start, stop)
        else:
            future = self._team.submit(_block_of, self._team.file_of(self._job), start, stop)
        self._waiting[future] = start - self._trials.start

    def _next_block(self) -> tuple[int, int]:
        own, self._left = self._left[:BLOCK], self._left[BLOCK:]
        return own.start, own.stop


def _on(executor: Executor, job: Job, trials: range, on_done: Callable[[int], None]) -> TrialsPlayed:
    blocks, waiting, sent = _Blocks(), dict[Future[Outcomes], int](), sent_to(executor, job)

    def send(starts: Iterable[int]) -> None:
        for start in starts:
            future = executor.submit(play_block, sent, start, min(start + BLOCK, trials.stop))
            waiting[future] = start - trials.start

    try:
        send(range(trials.start, trials.stop, BLOCK))
        for tries in range(1, TRIES + 1):
            lost = _gathered(waiting, blocks, on_done, is_last=tries == TRIES)
            send(trials.start + start for start in lost)
    except KeyboardInterrupt:
        executor.shutdown(wait=True, cancel_futures=True)
        _gather_what_is_done(waiting, blocks)
        return blocks.result(interrupted=True)
    except BrokenExecutor as error:
        _gather_what_is_done(waiting, blocks)
        if not blocks.n:
            raise
        _log.warning(_STOPPED, error)
        return blocks.result(interrupted=True)
    return blocks.result(interrupted=False)


def _gathered(
    waiting: dict[Future[Outcomes], int], blocks: _Blocks, on_done: Callable[[int], None], *, is_last: bool
) -> list[int]:
    """Take blocks as they come; the starts of those that were lost with their worker, to be played again."""
    lost = []
    for future in as_completed(list(waiting)):
        if is_lost(future):
            loss = loss_of(future)
            if is_last or isinstance(loss, WorkersLostError):
                raise loss
            lost.append(waiting.pop(future))
            continue
        outcomes = future.result()
        blocks.add(waiting.pop(future), outcomes)
        on_done(outcomes.n)
    return lost


def _gather_what_is_done(waiting: dict[Future[Outcomes], int], blocks: _Blocks) -> None:
    for future, start in waiting.items():
        if future.done() and not future.cancelled() and future.exception() is None:
            blocks.add(start, future.result())


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

    @property
    def n(self) -> int:
        """Trials up to the first that is missing."""
        return self._whole[1]

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
        if not self.n:
            raise NothingDone from None
        return TrialsPlayed(self.outcomes(), interrupted)

    def outcomes(self) -> Outcomes:
        """Outcomes of these blocks, of which there is at least one."""
        parts, _, sums = self._whole
        return replace(joined(self._parts[:parts]), sums=sums)


def play_block(job: bytes | str, start: int, stop: int) -> Outcomes:
    """Trials start .. stop - 1 of a job, packed or in a file; a worker unpacks a job only once."""
    return _player_of(job).block(start, stop)


def _block_of(job: str, start: int, stop: int) -> tuple[int, Outcomes]:
    """The number of this process with what it played; of no trials, it only makes the job ready."""
    if start == stop:
        _player_of(job)
        return os.getpid(), Outcomes(0, Kept({}), {})
    return os.getpid(), play_block(job, start, stop)


def _block_beside(play: TrialPlayer, start: int, stop: int) -> tuple[int, Outcomes]:
    """The same in a thread of this process, which has the job ready; again one by one if memory runs out."""
    if start == stop:
        return get_ident(), Outcomes(0, Kept({}), {})
    try:
        return get_ident(), play.block(start, stop)
    except MemoryError:
        play.go_one_by_one()
        return get_ident(), play.block(start, stop)


# Where a process begins as a copy of this one, it has the player of the job for which it was called.
_AT_HAND: dict[bytes | str, TrialPlayer] = {}


@contextmanager
def _at_hand(job: str, play: TrialPlayer) -> Iterator[None]:
    """Have copies of this process find a player ready-made."""
    _AT_HAND[job] = play
    try:
        yield
    finally:
        del _AT_HAND[job]


@lru_cache(maxsize=16)
def _player_of(job: bytes | str) -> TrialPlayer:
    if job in _AT_HAND:
        return _AT_HAND[job]
    with collector_at_rest():
        return TrialPlayer(_unpacked(job) if isinstance(job, bytes) else pickle.loads(Path(job).read_bytes()))


def _unpacked(job: bytes) -> Job:
    """A job that came from elsewhere; raises `InputError` if another version packed it."""
    file = BytesIO(job)
    if (version := pickle.load(file)) != __version__:
        allowed = f"{version}, as where the trials come from"
        raise InputError([Fault(f"worker on {gethostname()}", None, "towerpace", __version__, allowed)])
    unpacked: Job = pickle.load(file)
    return unpacked
