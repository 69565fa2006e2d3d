"""Tasks on executors of `concurrent.futures`: few in flight, lost workers replaced, none left behind."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import (
    FIRST_COMPLETED,
    BrokenExecutor,
    CancelledError,
    Executor,
    Future,
    ProcessPoolExecutor,
    wait,
)
from multiprocessing import get_context
from multiprocessing.connection import Connection
from multiprocessing.connection import wait as wait_for
from threading import Thread
from typing import Any, Generic, ParamSpec, TypeVar

from towerpace.trials.team import ignore_interrupts

P = ParamSpec("P")
R = TypeVar("R")
T = TypeVar("T")
TRIES = 5  # of one task whose worker is lost, before its loss is taken for a fault of the task
# A lost worker under another name in every library that offers an executor.
_LOST = {"KilledWorker", "FutureCancelledError", "FutureLostError", "CommClosedError"}


class Carrier(Generic[T, R]):
    """Carries tasks to an executor, a window of them at a time, so that memory does not grow with them.

    window : tasks in flight.
    """

    def __init__(self, executor: Executor, work: Callable[[T], R], *, window: int) -> None:
        self._executor, self._work, self._window = executor, work, window
        self._waiting: dict[Future[R], tuple[T, int]] = {}

    def results(self, tasks: Iterable[T]) -> Iterator[R]:
        """Results as they come; raises what a task raised, and the loss of a task tried `TRIES` times."""
        left = iter(tasks)
        while True:
            while len(self._waiting) < self._window and (task := next(left, None)) is not None:
                self._send(task, tries=1)
            if not self._waiting:
                return
            done, _ = wait(self._waiting, return_when=FIRST_COMPLETED)
            for future in done:
                task, tries = self._waiting[future]
                if _lost(future) and tries < TRIES:
                    del self._waiting[future]
                    self._send(task, tries=tries + 1)
                else:
                    result = future.result()
                    del self._waiting[future]
                    yield result

    def leftovers(self) -> Iterator[R]:
        """Results that are there but were not handed out yet, after an interruption; cancels the others."""
        for future in self._waiting:
            if future.done() and not future.cancelled() and future.exception() is None:
                yield future.result()
            else:
                future.cancel()
        self._waiting = {}

    def _send(self, task: T, *, tries: int) -> None:
        self._waiting[self._executor.submit(self._work, task)] = (task, tries)


def _lost(future: Future[Any]) -> bool:
    """Whether a task ended with its worker, not by itself."""
    if future.cancelled():
        return True
    error = future.exception()
    return isinstance(error, BrokenExecutor | CancelledError) or type(error).__name__ in _LOST


class Here(Executor):
    """Works in this process, at once."""

    def submit(self, fn: Callable[P, R], /, *args: P.args, **kwargs: P.kwargs) -> Future[R]:
        """The result of the call; an interruption goes through to the caller."""
        future: Future[R] = Future()
        try:
            future.set_result(fn(*args, **kwargs))
        except Exception as error:
            future.set_exception(error)
        return future


class Processes(Executor):
    """Processes of our own: replaced when one is killed, and gone when this one is, however it ends.

    The processes of the standard pool outlive a parent that is killed and wait for ever.
    """

    def __init__(self, workers: int) -> None:
        self._workers = workers
        self._start()

    def _start(self) -> None:
        context = get_context("spawn")
        # The far end closes when this process ends, even if it is killed: that is what its workers watch.
        self._near, self._far = context.Pipe(duplex=False)
        self._pool = ProcessPoolExecutor(
            self._workers, mp_context=context, initializer=stay_with_parent, initargs=(self._near,)
        )

    def submit(self, fn: Callable[P, R], /, *args: P.args, **kwargs: P.kwargs) -> Future[R]:
        """As the standard pool, in new processes if the old ones are broken."""
        try:
            return self._pool.submit(fn, *args, **kwargs)
        except BrokenExecutor:
            self.shutdown()
            self._start()
            return self._pool.submit(fn, *args, **kwargs)

    def shutdown(self, wait: bool = True, *, cancel_futures: bool = False) -> None:
        """End the processes at once; what they were doing is not waited for."""
        self._far.close()
        self._pool.shutdown(wait=wait, cancel_futures=cancel_futures)
        self._near.close()


def stay_with_parent(lifeline: Connection[Any, Any]) -> None:
    """Leave Ctrl-C to the parent, and end when the parent closes the lifeline or is no more."""
    ignore_interrupts()
    Thread(target=_watch, args=(lifeline,), daemon=True).start()


def _watch(lifeline: Connection[Any, Any]) -> None:
    wait_for([lifeline])
    os._exit(0)
