"""Processes and threads that play trials beside this one, started only when there is enough to play.

A process that begins empty imports the program and unpacks the plan before it plays: seconds, in which this
process plays hundreds of trials. So this one plays from the first moment on, others are called only when what
is left is worth their start, and a command is never slower with them than alone. The plan goes through a file
that each reads for itself: written into the pipe of every new process, they would start one after another.
One that begins as a copy of this process has the plan, and is worth its start for a dozen trials.

Where no copy may be made, as on Windows or in a notebook, threads play what is played in blocks: most of a
block needs no lock of Python's. They are there at once and share the plan, but share the lock, too: two of
them do nearly the work of two processes, many do less, so there are at most `THREADS`.
"""

from __future__ import annotations

import os
import pickle
from collections.abc import Callable
from concurrent.futures import Executor, Future, ThreadPoolExecutor
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import ParamSpec, TypeVar

from towerpace.trials.collector import collector_at_rest
from towerpace.trials.processes import Processes, may_copy

P = ParamSpec("P")
R = TypeVar("R")
IMPORT_S = 1.5  # a new process imports the program, measured at 0.9 to 2 s
COPY_S = 0.1  # one that begins as a copy, measured at 0.02 to 0.05 s
THREAD_S = 0.05  # a thread lays out arrays of its own
THREADS = 4  # with this one; a seventh of a trial needs the lock of Python


class Team(Executor):
    """So many processes or threads with this one; none is started before there is something for it."""

    def __init__(self, workers: int) -> None:
        self.workers = workers
        self._pool: Processes | None = None
        self._threads: ThreadPoolExecutor | None = None
        self._folder: TemporaryDirectory[str] | None = None
        self._sent: dict[int, tuple[object, str]] = {}  # with the job, so that no other gets its identity

    @property
    def is_called(self) -> bool:
        """Whether others have been started."""
        return self._pool is not None

    @property
    def may_thread(self) -> bool:
        """Whether threads take the place of processes for what is played in blocks."""
        return not self.is_called and not may_copy()

    def worth_calling(self, *, left_s: float, start_s: float, in_threads: bool = False) -> int:
        """How many others are worth their start: each must have as much to play as its start takes.

        left_s : what is left to play, alone. start_s : to make a job ready in a process that is there. [s]
        """
        most = min(self.workers, cores(), THREADS if in_threads else self.workers)
        if in_threads:
            start_s = THREAD_S
        elif not self.is_called:
            start_s = COPY_S if may_copy() else IMPORT_S + start_s
        return min(most - 1, int(left_s / start_s) - 1)

    def file_of(self, job: object) -> str:
        """The file through which a job goes to the others, written once."""
        if id(job) not in self._sent:
            if self._folder is None:
                self._folder = TemporaryDirectory(prefix="towerpace-")
            path = Path(self._folder.name) / f"job-{len(self._sent)}.pickle"
            with collector_at_rest(), path.open("wb") as file:
                pickle.dump(job, file, protocol=pickle.HIGHEST_PROTOCOL)
            self._sent[id(job)] = (job, str(path))
        return self._sent[id(job)][1]

    def call(self, others: int) -> None:
        """Have at most so many others; later calls change nothing."""
        if self._pool is None:
            self._pool = Processes(others)

    def submit(self, fn: Callable[P, R], /, *args: P.args, **kwargs: P.kwargs) -> Future[R]:
        """Have one of the others do something; as many are started as there is work for."""
        self.call(self.workers)
        assert self._pool is not None
        return self._pool.submit(fn, *args, **kwargs)

    def submit_beside(self, fn: Callable[P, R], /, *args: P.args, **kwargs: P.kwargs) -> Future[R]:
        """Have a thread of this process do something; as many are started as there is work for."""
        if self._threads is None:
            self._threads = ThreadPoolExecutor(max(1, min(self.workers, THREADS) - 1), "towerpace")
        return self._threads.submit(fn, *args, **kwargs)

    def shutdown(self, wait: bool = True, *, cancel_futures: bool = True) -> None:
        """End the others at once; of what they were doing only the block of a thread is waited for."""
        if self._threads is not None:
            self._threads.shutdown(wait=wait, cancel_futures=cancel_futures)
        if self._pool is not None:
            self._pool.shutdown(wait=wait, cancel_futures=cancel_futures)
        if self._folder is not None:
            self._folder.cleanup()
        self._pool = self._folder = self._threads = None
        self._sent.clear()


def cores() -> int:
    """Cores that this process may use; more processes than those only cost their start."""
    here = getattr(os, "sched_getaffinity", None)
    return len(here(0)) if here else os.cpu_count() or 1
