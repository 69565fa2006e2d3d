"""A search beside the page, in a process of its own that may be ended at any time."""

from __future__ import annotations

import os
import traceback
from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from multiprocessing import get_context
from threading import Thread
from typing import TYPE_CHECKING, Any, Protocol

from towerpace.faults import InputError
from towerpace.trials.processes import ignore_interrupts
from towerpace.workbench.standing import interrupts_ignored

if TYPE_CHECKING:
    from multiprocessing.connection import Connection

    Line = Connection[Any, Any]
RUNNING, DONE, CANCELLED = "running", "done", "cancelled"
NICE = 5  # answers to the page come first
END_S = 1.0


class News(Protocol):
    """How far a search has come: a frozen data class with these fields among others."""

    @property
    def state(self) -> str:
        """Running, done or cancelled."""

    @property
    def text(self) -> str:
        """What is being done, or what was found."""

    def as_json(self) -> dict[str, Any]:
        """As the page reads it."""


class Search:
    """A search in a process of its own.

    work : called there with a line, on which it sends its news, and the arguments. first : the news before
    any. tell : called from a thread of ours with all news, the last of which is not running.
    """

    def __init__(
        self, work: Callable[..., None], *arguments: object, first: News, tell: Callable[[Any], None]
    ) -> None:
        context = get_context("spawn")
        self._near, far = context.Pipe(duplex=False)
        self._tell, self._last, self._is_over = tell, first, False
        self._process = context.Process(target=work, args=(far, *arguments), daemon=True)
        with interrupts_ignored():
            self._process.start()
        far.close()
        Thread(target=self._listen, daemon=True).start()

    def end(self) -> None:
        """End the search and its process."""
        self._is_over = True
        self._process.terminate()
        self._process.join(END_S)
        if self._process.is_alive():
            self._process.kill()
            self._process.join()

    def _listen(self) -> None:
        with suppress(RuntimeError):  # the loop that listens has ended
            with suppress(EOFError, OSError):
                while not self._is_over:
                    self._last = self._near.recv()
                    self._tell(self._last)
            if self._last.state == RUNNING and not self._is_over:
                lost = "The search was lost, as by lack of memory."
                self._tell(replace(self._last, state=CANCELLED, text=lost))  # type: ignore[type-var]  # a data class


def told_on(line: Line, first: News, search: Callable[[Callable[..., None]], None]) -> None:
    """Have a search tell its news on a line, its faults as the last of them.

    search : called with what takes the fields of the news that have changed.
    """
    ignore_interrupts()
    if hasattr(os, "nice"):
        os.nice(NICE)
    last = first

    def tell(**news: Any) -> None:
        nonlocal last
        last = replace(last, **news)  # type: ignore[type-var]  # a data class
        line.send(last)

    try:
        search(tell)
    except InputError as error:
        tell(state=DONE, text=" ".join(fault.text() for fault in error.faults))
    except OSError:
        return
    except Exception:
        tell(state=DONE, text=f"A fault of towerpace: {traceback.format_exc().strip().splitlines()[-1]}")
