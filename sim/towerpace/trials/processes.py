"""Processes of our own: one that is lost is replaced and its work done again, and all end with this one.

In the standard pool the loss of one process, as by lack of memory, fails all that waits, and the processes
outlive a parent that is killed.

Where that is safe, a process begins as a copy of this one, which takes hundredths of a second: it has the
plan and all that is compiled. It is safe on Linux while no other thread of Python runs, because a copy has
one thread alone, and what another held in that moment would be held in it for ever. Else it begins empty
and imports the program: seconds.
"""

from __future__ import annotations

import logging
import os
import signal
import sys
from collections.abc import Callable, Iterator
from concurrent.futures import (
    BrokenExecutor,
    CancelledError,
    Executor,
    Future,
    ProcessPoolExecutor,
    ThreadPoolExecutor,
)
from contextlib import contextmanager
from functools import partial
from multiprocessing import current_process, get_context
from multiprocessing.connection import Connection
from multiprocessing.connection import wait as wait_for
from threading import RLock, Thread, current_thread, main_thread
from threading import enumerate as threads_now
from typing import Any, ParamSpec, TypeVar

P = ParamSpec("P")
R = TypeVar("R")
TRIES = 5  # losses with nothing done in between, before they are taken for the fault of what is done
# A lost worker under another name in every library that offers an executor.
_LOST = {"KilledWorker", "FutureCancelledError", "FutureLostError", "CommClosedError"}
# The thread that draws a bar of progress holds nothing that a worker asks for.
_HARMLESS = "rich."
_log = logging.getLogger("towerpace")


class WorkersLostError(BrokenExecutor):
    """Processes were lost again and again, with nothing done in between."""


def is_lost(future: Future[Any]) -> bool:
    """Whether a task ended with its worker, not by itself."""
    if future.cancelled():
        return True
    error = future.exception()
    return isinstance(error, BrokenExecutor | CancelledError) or type(error).__name__ in _LOST


def loss_of(future: Future[Any]) -> BrokenExecutor:
    """The loss with which a task ended, whatever the library of its workers calls it."""
    error = None if future.cancelled() else future.exception()
    if isinstance(error, BrokenExecutor):
        return error
    return BrokenExecutor(
        f"a worker was lost ({type(error).__name__ if error else 'its task was cancelled'})"
    )


class Processes(Executor):
    """So many processes; after the second loss one less with each, down to one.

    initializer, initargs : called in every process before its first task.
    A task that runs out of memory counts as a loss too. `WorkersLostError` after `TRIES` in a row.
    """

    def __init__(
        self, workers: int, *, initializer: Callable[..., None] | None = None, initargs: tuple[Any, ...] = ()
    ) -> None:
        self._workers, self._begin = workers, (initializer, initargs)
        self._lock, self._closed = RLock(), False
        self._losses = self._in_a_row = 0
        # A pool that breaks tells so under a lock of its own: what it lost is sent again from elsewhere.
        self._mender = ThreadPoolExecutor(1)
        self._start()

    @property
    def workers(self) -> int:
        """Processes that there are now, at most."""
        return self._workers

    def submit(self, fn: Callable[P, R], /, *args: P.args, **kwargs: P.kwargs) -> Future[R]:
        """As the standard pool, and again in new processes where they are lost."""
        if self._closed:
            raise RuntimeError("cannot schedule new futures after shutdown")
        future: Future[R] = Future()
        self._send(future, partial(fn, *args, **kwargs))
        return future

    def shutdown(self, wait: bool = True, *, cancel_futures: bool = False) -> None:
        """End the processes at once; what they were doing is not waited for."""
        self._closed = True
        self._far.close()
        self._pool.shutdown(wait=wait, cancel_futures=cancel_futures)
        self._mender.shutdown(wait=wait)
        self._near.close()

    def _start(self) -> None:
        is_copied = may_copy()
        context = get_context("fork" if is_copied else "spawn")
        # The far end closes when this process ends, even if it is killed: that is what its workers watch.
        self._near, self._far = context.Pipe(duplex=False)
        far = self._far if is_copied else None  # of a copy's own, it would hold the line open
        lines = (self._near, far, *self._begin)
        pool = ProcessPoolExecutor(self._workers, mp_context=context, initializer=_begin_work, initargs=lines)
        if is_copied:
            with interrupts_held_back():
                pool.submit(os.getpid)  # copies are made at the first task, all at once
        self._pool = pool

    def _send(self, future: Future[Any], task: Callable[[], Any]) -> None:
        pool = self._pool
        try:
            inner = pool.submit(task)
        except BrokenExecutor:
            self._mender.submit(self._again, future, task, pool)
            return
        inner.add_done_callback(partial(self._ended, future, task, pool))

    def _ended(
        self, future: Future[Any], task: Callable[[], Any], pool: ProcessPoolExecutor, inner: Future[Any]
    ) -> None:
        if future.cancelled():
            return
        if self._closed and is_lost(inner):
            _cancel(future)
        elif is_lost(inner) or isinstance(inner.exception(), MemoryError):
            self._mender.submit(self._again, future, task, pool)
        elif future.set_running_or_notify_cancel():
            self._in_a_row = 0
            error = inner.exception()
            future.set_result(inner.result()) if error is None else future.set_exception(error)

    def _again(self, future: Future[Any], task: Callable[[], Any], pool: ProcessPoolExecutor) -> None:
        """Replace the processes with which a task was lost, unless that is done, and send it again."""
        with self._lock:
            if self._closed:
                _cancel(future)
                return
            if pool is self._pool and self._in_a_row < TRIES:
                self._replace(pool)
            if self._in_a_row < TRIES:
                self._send(future, task)
            elif future.set_running_or_notify_cancel():
                words = f"worker processes were lost {TRIES} times with nothing done, as by lack of memory"
                future.set_exception(WorkersLostError(words))

    def _replace(self, pool: ProcessPoolExecutor) -> None:
        self._losses, self._in_a_row = self._losses + 1, self._in_a_row + 1
        if self._losses > 1:
            self._workers = max(1, self._workers - 1)
        many = "worker" if self._workers == 1 else "workers"
        on = f", on {self._workers} {many} from here on" if self._losses > 1 else ""
        _log.warning("A worker process was lost, as by lack of memory: its part is done again%s.", on)
        self._far.close()
        self._near.close()
        pool.shutdown(wait=False)
        self._start()


def _cancel(future: Future[Any]) -> None:
    if future.cancel():
        future.set_running_or_notify_cancel()


def ignore_interrupts() -> None:
    """Ctrl-C reaches every process of a terminal; only the parent acts on it."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)


def may_copy() -> bool:
    """Whether a copy of this process can be made safely, and works."""
    others = (thread for thread in threads_now() if thread is not main_thread())
    return (
        sys.platform == "linux"
        and not current_process().daemon  # such a process may not have others
        and current_thread() is main_thread()
        and all(type(thread).__module__.startswith(_HARMLESS) for thread in others)
    )


@contextmanager
def interrupts_held_back() -> Iterator[None]:
    """Let Ctrl-C wait until copies are made, which then leave it to the parent."""
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _begin_work(
    lifeline: Connection[Any, Any],
    far: Connection[Any, Any] | None,
    initializer: Callable[..., None] | None,
    initargs: tuple[Any, ...],
) -> None:
    """Leave Ctrl-C to the parent, and end when the parent closes the lifeline or is no more.

    far : its far end, where a copied process has that as well.
    """
    ignore_interrupts()
    if far is not None:
        far.close()
        signal.pthread_sigmask(signal.SIG_UNBLOCK, {signal.SIGINT})
    Thread(target=_watch, args=(lifeline,), daemon=True).start()
    if initializer is not None:
        initializer(*initargs)


def _watch(lifeline: Connection[Any, Any]) -> None:
    wait_for([lifeline])
    os._exit(0)
