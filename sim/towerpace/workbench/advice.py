"""What to add to the changes at hand: the search of `towerpace add`, in a process that may be ended."""

from __future__ import annotations

import os
import traceback
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from multiprocessing import get_context
from threading import Thread
from typing import TYPE_CHECKING, Any

from towerpace.answers.choice.add import Ranked, add
from towerpace.answers.choice.add_said import said
from towerpace.answers.choice.lab import Lab
from towerpace.faults import InputError
from towerpace.scenario.load import load
from towerpace.trials.processes import ignore_interrupts
from towerpace.workbench.standing import interrupts_ignored

if TYPE_CHECKING:
    from multiprocessing.connection import Connection

    Line = Connection[Any, Any]
RUNNING, DONE, CANCELLED = "running", "done", "cancelled"
NICE = 5  # answers to the page come first
END_S = 1.0


@dataclass(frozen=True)
class AdviceTold:
    """How far a search has come.

    rows : as the page reads them, best first. of, done : additions in all, and those that have been tried.
    """

    state: str
    text: str
    rows: Sequence[Mapping[str, object]] = ()
    of: int = 0
    done: int = 0

    def as_json(self) -> dict[str, Any]:
        """As the page reads it."""
        return {
            "state": self.state,
            "text": self.text,
            "rows": list(self.rows),
            "of": self.of,
            "done": self.done,
        }


class Search:
    """A search for what to add, in a process of its own.

    tell : called from a thread of ours with each `AdviceTold`, the last of which is not running.
    """

    def __init__(
        self, path: str, changes: Mapping[str, object], *, seed: int, tell: Callable[[AdviceTold], None]
    ) -> None:
        context = get_context("spawn")
        self._near, far = context.Pipe(duplex=False)
        self._tell, self._is_over = tell, False
        self._process = context.Process(target=search, args=(far, path, dict(changes), seed), daemon=True)
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
        told = AdviceTold(RUNNING, "")
        with suppress(RuntimeError):  # the loop that listens has ended
            with suppress(EOFError, OSError):
                while not self._is_over:
                    told = self._near.recv()
                    self._tell(told)
            if told.state == RUNNING and not self._is_over:
                self._tell(replace(told, state=CANCELLED, text="The search was lost, as by lack of memory."))


def search(line: Line, path: str, changes: Mapping[str, object], seed: int) -> None:
    """Search, and tell of it on a line."""
    ignore_interrupts()
    if hasattr(os, "nice"):
        os.nice(NICE)
    last = AdviceTold(RUNNING, "")

    def tell(**news: Any) -> None:
        nonlocal last
        last = replace(last, **news)
        line.send(last)

    def on_ranked(ranked: Sequence[Ranked], of: int) -> None:
        tell(rows=[row_of(r) for r in ranked], of=of, done=len(ranked))

    try:
        scenario = load(path, changes)
        advice = add(
            scenario, lab=Lab(seed), seed=seed, say=lambda what: tell(text=what), on_ranked=on_ranked
        )
        rows = [row_of(ranked) for ranked in advice.ranking]
        tell(state=DONE, text=said(advice).said, rows=rows, of=len(rows), done=len(rows))
    except InputError as error:
        tell(state=DONE, text=" ".join(fault.text() for fault in error.faults))
    except OSError:
        return
    except Exception:
        tell(state=DONE, text=f"A fault of towerpace: {traceback.format_exc().strip().splitlines()[-1]}")


def row_of(ranked: Ranked) -> dict[str, object]:
    """One addition: days of the finish that it gains, which are the negative of what it adds. [d]"""
    days, p80 = ranked.days, ranked.p80_days
    return {
        "what": ranked.option.name,
        "gain": None if days is None else -days.mean,
        "low": None if days is None else -days.high,
        "high": None if days is None else -days.low,
        "p80_gain": None if p80 is None else -p80.mean,
        "trials": ranked.trials,
        "verdict": ranked.verdict,
    }
