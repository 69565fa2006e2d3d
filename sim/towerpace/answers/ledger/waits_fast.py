"""The split of `waits` on the compiled kernel's tables: the same minutes, found without building spans."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from towerpace.answers.ledger.waits import AGAIN, LATE, LINE, MOVE, SHIFT, WORK, Minutes, Timekeeper
from towerpace.answers.ledger.waits_compiled import name_all, split_all
from towerpace.answers.ledger.waits_tables import SHIFT_ROW, SPAN_ROW, Keeping
from towerpace.draws import Draw
from towerpace.engine.diary import NEVER, Diary
from towerpace.engine.kernel import columns as c
from towerpace.engine.kernel.air import air_of
from towerpace.engine.kernel.scan import Arrays
from towerpace.engine.kernel.site import rows, site_in_air
from towerpace.engine.kernel.tables import compiled
from towerpace.engine.openings import Openings
from towerpace.plan.model import NONE, Plan

Ints = NDArray[np.int64]
DAY_MIN, NOT_TO_COME = 1440, 2**62


class FastTimekeeper(Timekeeper):
    """A timekeeper whose `split` is compiled; it scans the hours of the draw and needs no openings."""

    def __init__(self, plan: Plan, labels: Sequence[str]) -> None:
        super().__init__(plan, labels)
        causes = self._cause
        used = set(plan.window.tolist())
        limits = [limit for k, w in enumerate(plan.windows) if k in used for limit in w.limits]
        self._named = np.array([causes[c] for c in (MOVE, AGAIN, SHIFT, "wind", LATE, LINE)])
        self._of_limit = np.array([causes[limit.cause] for limit in limits], dtype=np.int64)
        of_pool = np.append(self._label, NONE)  # a step without needs has no first pool
        self._facts = np.stack((of_pool[self._first_pool], self._tangled), axis=1).astype(np.int64)
        self._shifts, self._by_day = _calendars(plan)
        lines = [np.flatnonzero(plan.line == k) for k in range(len(plan.pools.lines))]
        self._in_line = np.concatenate([np.zeros(0, dtype=np.int64), *lines])
        self._line_starts = _starts([len(x) for x in lines])
        self._events()

    @classmethod
    def like(cls, keeper: Timekeeper) -> FastTimekeeper:
        """The fast twin of a timekeeper."""
        return cls(keeper.plan, [keeper.causes[column] for column in keeper._label.tolist()])

    def _events(self) -> None:
        """Takes and gives of the pools that a tangled step asks for, and room for their levels."""
        plan = self.plan
        takers = plan.needs.owners
        givers = plan.give_pool.owners
        pool = np.concatenate((plan.needs.values, plan.give_pool.values))
        asked = np.flatnonzero(np.isin(pool, list(self._uses)))
        asked = asked[np.argsort(pool[asked], kind="stable")]
        self._event_step = np.concatenate((takers, givers))[asked]
        self._gives = asked >= len(takers)
        self._change = np.concatenate((-plan.quantities.values, plan.give_quantity.values))[asked]
        counts = np.bincount(pool[asked], minlength=len(plan.pools.names))
        ends = np.cumsum(counts)
        self._of_pool = [slice(end - n, end) for n, end in zip(counts, ends, strict=True) if n]
        self._level_starts = _starts((counts + 1).tolist())
        self._levels = np.zeros((self._level_starts[-1], 2), dtype=np.int64)
        self._levels[self._level_starts[:-1], 0] = NEVER
        self._levels[self._level_starts[:-1], 1] = plan.pools.units

    def split(self, draw: Draw, openings: Openings, diary: Diary) -> Minutes:
        """Minutes of one trial; `openings` are not looked at."""
        del openings
        n = self.plan.n
        waiting, doing = np.zeros((2, n, len(self.causes)), dtype=np.int64)
        every, work = np.arange(n), np.full(n, self._cause[WORK])
        keeping = self._keeping(draw, diary, tables=(waiting, doing), row=every, worked=work)
        self._run(keeping)
        ready, ended = diary.ready.astype(np.int64), diary.finished.astype(np.int64)
        to = np.where((ready != NEVER) & (ended == NEVER), self.plan.horizon, ended)
        return Minutes(self.causes, waiting.T, doing.T, ready, to, keeping.caught)

    def add_up(self, draw: Draw, diary: Diary, *, book: Ints, row: Ints, worked: Ints) -> int:
        """Add the minutes of every step to its row of a book; returns how many steps were caught.

        book : (n_rows, n_causes or more). [min]  row, worked : (n,) row, and column of its working minutes.
        """
        keeping = self._keeping(draw, diary, tables=(book, book), row=row, worked=worked)
        self._run(keeping)
        return int(np.count_nonzero(keeping.caught))

    def _run(self, keeping: Keeping) -> None:
        # One number of minute and event: sorting numbers takes a tenth of sorting their places.
        events = np.empty(len(self._event_step), dtype=np.int64)
        name_all(keeping, events)
        for own in self._of_pool:
            events[own].sort()
        split_all(keeping, events)

    def _keeping(
        self, draw: Draw, diary: Diary, *, tables: tuple[Ints, Ints], row: Ints, worked: Ints
    ) -> Keeping:
        return Keeping(
            a=self._arrays(draw),
            named=self._named,
            of_limit=self._of_limit,
            of_pool=self._label,
            shifts=self._shifts,
            by_day=self._by_day,
            facts=self._facts,
            ready=diary.ready,
            started=diary.started,
            finished=diary.finished,
            work=np.ascontiguousarray(draw.work, dtype=np.int64),
            skip=np.ascontiguousarray(draw.skip),
            row=row,
            worked=worked,
            event_step=self._event_step,
            gives=self._gives,
            change=self._change,
            level_starts=self._level_starts,
            levels=self._levels.copy(),
            line_starts=self._line_starts,
            in_line=self._in_line,
            waiting=tables[0],
            doing=tables[1],
            caught=np.zeros(self.plan.n, dtype=np.bool_),
        )

    def _arrays(self, draw: Draw) -> Arrays:
        made = compiled(self.plan)
        air = air_of(draw.hours, made.variables)
        site = site_in_air(made.plan, air)
        return Arrays(made.plan, site, made.bounds, air.factors, air.values.reshape(-1))


def _calendars(plan: Plan) -> tuple[Ints, Ints]:
    """Shifts of all windows up to the horizon with the open minutes before each, and rows by window and day.

    Behind the shifts of each window stands one that never comes, so that a search need not ask for the end.
    """
    made, tables = compiled(plan).plan, []
    for window in plan.windows:
        shifts = np.asarray(window.shifts, dtype=np.int64).reshape(-1, 2)
        shifts = np.minimum(shifts[shifts[:, 0] < plan.horizon], plan.horizon)
        before = np.concatenate(([0], np.cumsum(shifts[:, 1] - shifts[:, 0])))
        tables.append(np.column_stack((np.concatenate((shifts, [[NOT_TO_COME, NOT_TO_COME]])), before)))
    last = max((int(t[-2, 0]) for t in tables if len(t) > 1), default=0)
    days = np.arange(last // DAY_MIN + 1) * DAY_MIN
    by_day = np.empty((len(tables), len(days), 2), dtype=np.int64)
    windows = rows(made, made[c.WINDOWS], count=len(tables), columns=c.WINDOW_COLUMNS)
    first = 0
    for k, (own, table) in enumerate(zip(windows, tables, strict=True)):
        start = made[c.SPANS] + own[c.FIRST_SPAN] * c.SPAN_COLUMNS
        spans = rows(made, start, count=own[c.END_SPAN] - own[c.FIRST_SPAN], columns=c.SPAN_COLUMNS)
        by_day[k, :, SHIFT_ROW] = first + np.searchsorted(table[:, 1], days, side="right")
        by_day[k, :, SPAN_ROW] = own[c.FIRST_SPAN] + np.searchsorted(spans[:, c.TO], days, side="right")
        first += len(table)
    return np.concatenate([np.zeros((0, 3), dtype=np.int64), *tables]), by_day


def _starts(counts: list[int]) -> Ints:
    return np.concatenate(([0], np.cumsum(counts, dtype=np.int64)))
