"""Tasks on executors of `concurrent.futures`: few in flight, and sent again where their worker is lost."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, Executor, Future, wait
from typing import Generic, ParamSpec, TypeVar

from towerpace.trials.processes import TRIES, is_lost, loss_of

P = ParamSpec("P")
R = TypeVar("R")
T = TypeVar("T")


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
                if is_lost(future) and tries < TRIES:
                    del self._waiting[future]
                    self._send(task, tries=tries + 1)
                elif is_lost(future):
                    raise loss_of(future)
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
