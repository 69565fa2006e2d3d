"""The ledger on the compiled kernel's tables: the same book as `ledger`, booked by compiled code."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from towerpace.answers.ledger.book import Ledger
from towerpace.answers.ledger.waits import MOVE, WORK, Minutes
from towerpace.answers.ledger.waits_fast import FastTimekeeper
from towerpace.draws import Draw
from towerpace.engine.diary import NEVER, Diary
from towerpace.engine.kernel.jit import entry, part, stamp_of_sources
from towerpace.engine.openings import Openings
from towerpace.plan.site.tower import Tower

Ints = NDArray[np.int64]


class Booking(NamedTuple):
    """What the booking of one trial reads and writes.

    book : (n_rows x n_levels, n_causes). [min]
    waiting, doing : (n, n_step_causes), whose causes are the first of the book's. [min]
    spot : (n,) row of the book or -1. crane_moves : (n,) whether its work is a crane's move.
    work, move : columns of these causes.
    ready, finished : (n,). [min]  missing : (n,) column for the minutes that others wait for a step.
    before_start, before : predecessors of every step.
    since_start, since : steps whose last end starts the clock of a gap before a step, if it has_clock.
    """

    book: Ints
    waiting: Ints
    doing: Ints
    spot: Ints
    crane_moves: NDArray[np.bool_]
    work: int
    move: int
    ready: NDArray[np.int32]
    finished: NDArray[np.int32]
    before_start: Ints
    before: Ints
    since_start: Ints
    since: Ints
    has_clock: NDArray[np.bool_]
    missing: Ints


class FastLedger(Ledger):
    """A ledger whose `of` is compiled; it scans the hours of the draw and needs no openings."""

    def __init__(self, tower: Tower) -> None:
        super().__init__(tower)
        plan = tower.plan
        self._keeper = FastTimekeeper.like(self._keeper)
        self._spot = np.where(self._row >= 0, self._row * len(tower.levels) + self._floor, NEVER)
        self._is_crane_move = np.zeros(plan.n, dtype=np.bool_)
        self._is_crane_move[self._crane_moves] = True
        self._missing_column = np.array(self._missing, dtype=np.int64)
        # The step before on the front, as a list of one; else what starts the front's clock.
        since = [
            [p] if p != NEVER else self._anchors.get(i, []) for i, p in enumerate(self._previous.tolist())
        ]
        self._since_start = np.concatenate(([0], np.cumsum([len(x) for x in since], dtype=np.int64)))
        self._since = np.array([p for x in since for p in x], dtype=np.int64)
        self._has_clock = self._previous != NEVER
        self._has_clock[self._firsts] = True

    def of(self, draw: Draw, openings: Openings, diary: Diary) -> tuple[Ints, Minutes]:
        """Minutes by row, level and cause, (n_rows, n_levels, n_causes), and the minutes of every step."""
        minutes = self._keeper.split(draw, openings, diary)
        book = np.zeros((len(self.rows), len(self.tower.levels), len(self.causes)), dtype=np.int64)
        before = self.tower.plan.before
        book_all(
            Booking(
                book=book.reshape(-1, len(self.causes)),
                waiting=minutes.waiting.T,
                doing=minutes.doing.T,
                spot=self._spot,
                crane_moves=self._is_crane_move,
                work=self._column[WORK],
                move=self._column[MOVE],
                ready=diary.ready,
                finished=diary.finished,
                before_start=before.start,
                before=before.values,
                since_start=self._since_start,
                since=self._since,
                has_clock=self._has_clock,
                missing=self._missing_column,
            )
        )
        return book, minutes


@part
def add_up(k: Booking, minutes: Ints) -> None:
    """Add the minutes of every step, (n, n_step_causes), to its row; a crane's moves are all move."""
    for step in range(len(k.spot)):
        row = k.spot[step]
        if row == NEVER:
            continue
        for cause in range(minutes.shape[1]):
            column = k.move if cause == k.work and k.crane_moves[step] else cause
            k.book[row, column] += minutes[step, cause]


@part
def last_of(k: Booking, steps: Ints) -> int:
    """The last of some steps to end, of one minute the highest number; NEVER if there is none."""
    last = NEVER
    for step in steps:
        later = last == NEVER or k.finished[step] > k.finished[last]
        if later or (k.finished[step] == k.finished[last] and step > last):
            last = step
    return int(last)


@part
def blame(k: Booking, row: int, step: int, since: int) -> None:
    """Book the minutes from `since` to the step's ready under whoever was still missing, back in time."""
    until = int(k.ready[step])
    while until > since:
        last = last_of(k, k.before[k.before_start[step] : k.before_start[step + 1]])
        end = int(k.finished[last]) if last != NEVER else 0
        if end < until:  # its own date came last: a truck, a handover
            k.book[row, k.missing[step]] += until - max(end, since)
            until = end
        if last == NEVER or until <= since:
            return
        ready = int(k.ready[last])
        k.book[row, k.missing[last]] += until - max(ready, since)
        until, step = ready, last


def _stamped(stamp: int) -> Callable[[Booking], bool]:
    """The entry, with the stamp of the sources that it is compiled from."""

    def book_all(k: Booking) -> bool:
        """Book the minutes of every step, and the gaps before it."""
        add_up(k, k.waiting)
        add_up(k, k.doing)
        for step in range(len(k.spot)):
            if k.has_clock[step]:
                last = last_of(k, k.since[k.since_start[step] : k.since_start[step + 1]])
                since = int(k.finished[last]) if last != NEVER else 0
                if since != NEVER and k.ready[step] > since:
                    blame(k, k.spot[step], step, since)
        return stamp >= 0

    return entry(book_all)


book_all = _stamped(stamp_of_sources(Path(__file__)))
