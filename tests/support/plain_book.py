"""A second opinion on `answers.ledger.book`: the same book from the plain split, with numpy and Python."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from support.plain_waits import PlainTimekeeper
from towerpace.answers.ledger.book import Ledger
from towerpace.answers.ledger.waits import MOVE, WORK, Minutes
from towerpace.draws import Draw
from towerpace.engine.diary import NEVER, Diary
from towerpace.engine.openings import Openings
from towerpace.plan.model import NONE
from towerpace.plan.site.fronts import DELIVERY
from towerpace.plan.site.tower import Tower

Ints = NDArray[np.int64]


class PlainLedger(Ledger):
    """The ledger of one tower, booked step by step."""

    def __init__(self, tower: Tower) -> None:
        super().__init__(tower)
        labels = [self._keeper.causes[column] for column in self._keeper._pool_cause.tolist()]
        self._plain = PlainTimekeeper(tower.plan, labels)
        self._chained = np.flatnonzero(self._previous != NEVER)

    def of(self, draw: Draw, diary: Diary) -> tuple[Ints, Minutes]:
        """Minutes by row, level and cause, (n_rows, n_levels, n_causes), and the minutes of every step."""
        plan = self.tower.plan
        openings = Openings(plan.windows, hours=draw.hours, horizon=plan.horizon)
        minutes = self._plain.split(draw, openings, diary)
        book = np.zeros((len(self.rows), len(self.tower.levels), len(self.causes)), dtype=np.int64)
        self._book_steps(book, minutes)
        self._book_gaps(book, diary)
        return book, minutes

    def booked(self, draw: Draw, diary: Diary) -> tuple[Ints, int, int]:
        """The book of `of` alone, and how many lifts weather caught and how many ran past their shift."""
        book, minutes = self.of(draw, diary)
        of_trucks = np.array([self.tower.plan.tags(i).trade == DELIVERY for i in range(self.tower.plan.n)])
        caught, past = (int((x & ~of_trucks).sum()) for x in (minutes.caught, minutes.past_shift))
        return book, caught, past

    def _book_steps(self, book: Ints, minutes: Minutes) -> None:
        own = minutes.waiting + minutes.doing
        own = np.concatenate((own, np.zeros((1, own.shape[1]), dtype=np.int64)))
        work, move = self._column[WORK], self._column[MOVE]
        runs_on = np.array([window == NONE for window in self.tower.plan.lists.window])
        own[-1, runs_on] = minutes.doing[work, runs_on]
        own[work, runs_on] -= minutes.doing[work, runs_on]
        own[move, self._crane_moves] += own[work, self._crane_moves]
        own[work, self._crane_moves] = 0
        mine = np.flatnonzero(self._row >= 0)
        spot = self._row[mine] * book.shape[1] + self._floor[mine]
        for cause in np.flatnonzero(own.any(axis=1)).tolist():
            sums = np.bincount(spot, weights=own[cause, mine], minlength=book.shape[0] * book.shape[1])
            book[:, :, cause] += np.rint(sums).astype(np.int64).reshape(book.shape[:2])

    def _book_gaps(self, book: Ints, diary: Diary) -> None:
        ready, finished = diary.ready.astype(np.int64), diary.finished.astype(np.int64)
        since = np.full(len(ready), NEVER, dtype=np.int64)
        since[self._chained] = finished[self._previous[self._chained]]
        for step, anchors in self._anchors.items():
            since[step] = max((int(finished[a]) for a in anchors), default=0)
        gaps = np.flatnonzero((ready != NEVER) & (since != NEVER) & (ready > since))
        for step in gaps.tolist():
            spot = book[self._row[step], self._floor[step]]
            self._blame(spot, step, int(since[step]), diary=diary)

    def _blame(self, spot: Ints, step: int, since: int, *, diary: Diary) -> None:
        """Book the minutes from `since` to the step's ready under whoever was still missing, back in time."""
        until, before = int(diary.ready[step]), self.tower.plan.lists.before
        while until > since:
            ends = [(int(diary.finished[p]), p) for p in before[step]]
            end, last = max(ends, default=(0, NEVER))
            if end < until:  # its own date came last: a truck, a handover
                spot[self._missing[step]] += until - max(end, since)
                until = end
            if last == NEVER or until <= since:
                return
            ready = int(diary.ready[last])
            spot[self._missing[last]] += until - max(ready, since)
            until, step = ready, last


def clocks(ledger: Ledger, diary: Diary) -> Ints:
    """Minutes each row's clocks ran, by level, from the diary alone: what the causes must add up to."""
    ran = np.zeros((len(ledger.rows), len(ledger.tower.levels)), dtype=np.int64)
    horizon = ledger.tower.plan.horizon
    ended = np.where(diary.finished == NEVER, horizon, diary.finished).astype(np.int64)
    for step in np.flatnonzero((ledger._row >= 0) & (diary.ready != NEVER)).tolist():
        row, floor = ledger._row[step], ledger._floor[step]
        if step in ledger._anchors:
            since = max((int(diary.finished[a]) for a in ledger._anchors[step]), default=0)
        elif ledger._previous[step] != NEVER:
            since = int(diary.finished[ledger._previous[step]])
        else:
            since = int(diary.ready[step])
        ran[row, floor] += int(ended[step]) - since
    return ran
