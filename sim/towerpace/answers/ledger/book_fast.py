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

    book : (n_rows x n_levels + 1, n_causes). [min]
    spot : (n,) row of the book.
    ready, finished : (n,). [min]  missing : (n,) column for the minutes that others wait for a step.
    before_start, before : predecessors of every step.
    since_start, since : steps whose last end starts the clock of a gap before a step, if it has_clock.
    """

    book: Ints
    spot: Ints
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
        self._keeper = self._fast = FastTimekeeper.like(self._keeper)
        # Minutes of steps without a row go to one behind all others, which is thrown away.
        out = len(self.rows) * len(tower.levels)
        self._spot = np.where(self._row >= 0, self._row * len(tower.levels) + self._floor, out)
        self._worked = np.full(plan.n, self._column[WORK])
        self._worked[self._crane_moves] = self._column[MOVE]
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
        return self.booked(draw, openings, diary)[0], self._keeper.split(draw, openings, diary)

    def booked(self, draw: Draw, openings: Openings, diary: Diary) -> tuple[Ints, int]:
        """Minutes by row, level and cause, (n_rows, n_levels, n_causes), and how many lifts were caught."""
        del openings
        size = (len(self.rows), len(self.tower.levels), len(self.causes))
        book, before = np.zeros((size[0] * size[1] + 1, size[2]), dtype=np.int64), self.tower.plan.before
        caught = self._fast.add_up(draw, diary, book=book, row=self._spot, worked=self._worked)
        book_gaps(
            Booking(
                book=book,
                spot=self._spot,
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
        return book[:-1].reshape(size), caught


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

    def book_gaps(k: Booking) -> bool:
        """Book the gaps before every step that has a clock."""
        for step in range(len(k.spot)):
            if k.has_clock[step]:
                last = last_of(k, k.since[k.since_start[step] : k.since_start[step + 1]])
                since = int(k.finished[last]) if last != NEVER else 0
                if since != NEVER and k.ready[step] > since:
                    blame(k, k.spot[step], step, since)
        return stamp >= 0

    return entry(book_gaps)


book_gaps = _stamped(stamp_of_sources(Path(__file__)))
