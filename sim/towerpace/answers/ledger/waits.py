"""Every minute of every step between ready and finished, each under one cause.

Between ready and started each minute has the first of these that holds: the window is closed (outside the
shift, or by the limit that comes first); too late in the shift; behind the head of a line; short of a
pool, the first in the order of the needs. Between started and finished: move, work, or closed.
The enabler knows only the last cause; this replays plan, draw and diary, and the causes add up exactly.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np

from towerpace.answers.ledger.arrays import CauseColumns, SplitArrays
from towerpace.answers.ledger.shifts import Shifts, shifts_of
from towerpace.answers.ledger.split import fill_all, note_all, split_all, split_waits
from towerpace.compiling.addresses import Laid
from towerpace.compiling.pages import on_pages
from towerpace.draws import Draw
from towerpace.engine.diary import NEVER, Diary
from towerpace.engine.kernel.air import air_of
from towerpace.engine.kernel.arrays import Numbers, WindowArrays
from towerpace.engine.kernel.gather import starts
from towerpace.engine.kernel.tables import compiled
from towerpace.engine.kernel.trial import in_windows, laid_out
from towerpace.plan.lists import WORK as WORKS
from towerpace.plan.model import NONE, Plan
from towerpace.units import Flags, Ints

Columns = Ints | Numbers  # of a book, or its rows
WORK, MOVE, AGAIN = "work", "crane move", "begun again"
SHIFT, LATE, LINE = "outside shift", "too little shift left to start", "behind in line"
WEATHER = ("wind", "rain", "cold", "heat", "visibility", "lightning")


@dataclass(frozen=True)
class Minutes:
    """Minutes of every step by cause.

    causes : names. waiting, doing : (n_causes, n) minutes before and after the start. [min]
    from_, to : (n,) ready, and finished or the horizon; -1 where the step never became ready. [min]
    caught : (n,) whether a start-mode step was under way when weather passed a limit, after the shift too.
    past_shift : (n,) whether a start-mode step ended after the shift in which it started.
    """

    causes: tuple[str, ...]
    waiting: Ints
    doing: Ints
    from_: Ints
    to: Ints
    caught: Flags
    past_shift: Flags


class Lifts(NamedTuple):
    """What befell the lifts of a trial; see `Minutes`."""

    caught: Flags
    past_shift: Flags


def open_before(spans: Ints, minute: Ints) -> Ints:
    """Open minutes before each minute. [min]"""
    if not len(spans):
        return np.zeros_like(minute)
    k = np.searchsorted(spans[:, 0], minute, side="right") - 1
    length = spans[:, 1] - spans[:, 0]
    before = np.cumsum(length) - length
    inside = np.minimum(minute, spans[k, 1]) - spans[k, 0]
    return np.where(k < 0, 0, before[k] + inside)


def causes_of_steps(labels: Sequence[str]) -> tuple[str, ...]:
    """What the minutes of a step may go into. labels : what being short of each pool is called."""
    return tuple(dict.fromkeys((WORK, MOVE, AGAIN, SHIFT, *WEATHER, LATE, LINE, *labels)))


class Timekeeper:
    """Splits the minutes of one plan's steps; what does not change from trial to trial is prepared once.

    labels : what being short of each pool is called, one per pool.
    """

    def __init__(self, plan: Plan, labels: Sequence[str]) -> None:
        self.plan = plan
        self.causes = self._causes_of(tuple(labels))
        column = self.column = {name: k for k, name in enumerate(self.causes)}
        self._named = CauseColumns(*(column[name] for name in (MOVE, AGAIN, SHIFT, "wind", LATE, LINE)))
        used = set(np.unique(plan.window).tolist())
        limits = [limit for k, w in enumerate(plan.windows) if k in used for limit in w.limits]
        self._limit_cause = np.array([column[limit.cause] for limit in limits], dtype=np.int64)
        self._pool_cause = np.array([column[label] for label in labels], dtype=np.int64)
        n_needs = np.diff(plan.needs.start)
        self._is_tangled = self._looked_at(n_needs)
        self._first_pool_cause = np.full(plan.n, NONE, dtype=np.int32)
        one_need = ~self._is_tangled & (n_needs == 1)
        first_pool = plan.needs.values[plan.needs.start[:-1][one_need]]
        self._first_pool_cause[one_need] = self._pool_cause[first_pool]
        lines = [np.flatnonzero(plan.line == k) for k in range(len(plan.pools.lines))]
        self._in_line = np.concatenate([np.zeros(0, dtype=np.int64), *lines])
        self._first_in_line = starts(np.array([len(x) for x in lines], dtype=np.int64))
        self._shifts: Shifts = shifts_of(plan, compiled(plan).start.windows)
        self._prepare_events()
        self._laid = Laid(on_pages(self._without_trial()))

    def _causes_of(self, labels: tuple[str, ...]) -> tuple[str, ...]:
        return causes_of_steps(labels)

    def _looked_at(self, n_needs: Ints) -> Flags:
        """Steps of which the level of every pool is looked at; others can only be short of their one."""
        looked_at: Flags = (n_needs > 1) | (self.plan.line != NONE)
        return looked_at

    def _plain(self, windows: WindowArrays) -> Flags:
        """Steps whose work pauses for the hours outside the shift alone, and begins where its units stand."""
        plan = self.plan
        ways = np.array([moves is not None for moves in plan.pools.moves], dtype=np.bool_)
        has_way = np.bincount(plan.needs.owners, weights=ways[plan.needs.values], minlength=plan.n) > 0
        is_free = (windows.first_limit == windows.end_limit) & ~self._shifts.has_stops[windows.calendar]
        plain: Flags = (plan.mode == WORKS) & ~has_way
        plain[plain] = is_free[plan.window[plain]]
        return plain

    def _prepare_events(self) -> None:
        """Takes and gives of the pools that a tangled step asks for, and room for their levels."""
        plan = self.plan
        of_tangled = np.repeat(self._is_tangled, np.diff(plan.needs.start))
        steps = np.concatenate((plan.needs.owners, plan.give_pool.owners))
        pools = np.concatenate((plan.needs.values, plan.give_pool.values))
        changes = np.concatenate((-plan.quantities.values, plan.give_quantity.values))
        is_give, n_pools = np.arange(len(pools)) >= len(plan.needs.values), len(plan.pools.names)
        chosen = np.flatnonzero(np.isin(pools, plan.needs.values[of_tangled]))
        chosen = chosen[np.lexsort((is_give[chosen], pools[chosen]))]
        self._event_step, self._change = steps[chosen].astype(np.int32), changes[chosen]
        self._first_take = starts(np.bincount(pools[chosen], minlength=n_pools))
        n_takes = np.bincount(pools[chosen[~is_give[chosen]]], minlength=n_pools)
        self._first_give = self._first_take[:-1] + n_takes
        self._watched = np.flatnonzero(np.diff(self._first_take)).tolist()

    @property
    def laid(self) -> Laid[SplitArrays]:
        """What the entries are handed, but for what is another in every trial."""
        return self._laid

    def split(self, draw: Draw, diary: Diary) -> Minutes:
        """Minutes of one trial."""
        waiting, doing = np.zeros((2, self.plan.n, len(self.causes)), dtype=np.int64)
        work = np.full(self.plan.n, self.column[WORK])
        lifts = self._book(draw, diary, books=(waiting, doing), row=np.arange(self.plan.n), work_cause=work)
        ready, ended = diary.ready.astype(np.int64), diary.finished.astype(np.int64)
        to = np.where((ready != NEVER) & (ended == NEVER), self.plan.horizon, ended)
        return Minutes(self.causes, waiting.T, doing.T, ready, to, lifts.caught, lifts.past_shift)

    def add_up(self, draw: Draw, diary: Diary, *, book: Ints, row: Columns, work_cause: Columns) -> Lifts:
        """Add the minutes of every step to its row of a book; what it returns says what befell lifts.

        book : (n_rows, n_causes or more). [min]
        row, work_cause : (n,) row of each step, and column of the minutes in which it is worked at.
        """
        return self._book(draw, diary, books=(book, book), row=row, work_cause=work_cause)

    def before_start(self, draw: Draw, diary: Diary, *, steps: Ints, since: Ints, start: Ints) -> Ints:
        """Minutes of [since, start) of some steps by cause, (n_causes, k), for steps short of no pool then.

        steps, since, start : (k,), each step once. What neither window nor shift explains was a line. [min]
        """
        waiting = np.zeros((len(steps), len(self.causes)), dtype=np.int64)
        row = np.full(self.plan.n, NONE, dtype=np.int32)
        row[steps] = np.arange(len(steps))
        others = self._of_trial(draw, diary) | {"waiting": waiting, "doing": waiting, "row": row}
        others |= {"is_tangled": np.zeros_like(self._is_tangled)}
        split_waits(self._laid.but(others), steps, since, start)
        return waiting.T

    def _book(
        self, draw: Draw, diary: Diary, *, books: tuple[Ints, Ints], row: Columns, work_cause: Columns
    ) -> Lifts:
        caught, past_shift = np.zeros((2, self.plan.n), dtype=np.bool_)
        (events, level_free), end = np.empty((2, len(self._change)), dtype=np.int64), self._first_give.copy()
        n_levels, seen_level = np.empty((2, len(end)), dtype=np.int64)
        level_min = np.empty(len(events), dtype=np.int32)
        others = self._of_trial(draw, diary) | {"row": _numbers(row), "work_cause": _numbers(work_cause)}
        others |= {"events": events, "end_event": end, "n_levels": n_levels, "seen_level": seen_level}
        others |= {"level_min": level_min, "level_free": level_free}
        others |= {"waiting": books[0], "doing": books[1], "caught": caught, "past_shift": past_shift}
        table = self._laid.but(others)
        note_all(table)
        for pool in self._watched:
            events[self._first_take[pool] : end[pool]].sort()
        fill_all(table)
        split_all(table)
        return Lifts(caught, past_shift)

    def _of_trial(self, draw: Draw, diary: Diary) -> dict[str, Any]:
        """What is another in every trial: draw, diary and weather."""
        stamps = {f"steps.{name}": getattr(diary, name) for name in ("ready", "started", "finished")}
        air = air_of(draw.hours, compiled(self.plan).variables)
        drawn = {"steps.work": draw.work.astype(np.int32), "steps.skip": laid_out(draw.skip, np.bool_)}
        return drawn | stamps | in_windows(air) | {"has_pins": int(draw.pins is not None)}

    def _without_trial(self) -> SplitArrays:
        """All arrays; those that are others in every trial only hold their places."""
        tables, n = compiled(self.plan), self.plan.n
        nothing, nobody = np.zeros((1, 1), dtype=np.int64), np.zeros(n, dtype=np.bool_)
        nowhere = np.zeros(n, dtype=np.int32)
        return SplitArrays(
            steps=tables.by_number,
            windows=tables.start.windows,
            horizon=self.plan.horizon,
            has_pins=0,
            causes=self._named,
            limit_cause=self._limit_cause,
            pool_cause=self._pool_cause,
            **self._shifts._asdict(),
            first_pool_cause=self._first_pool_cause,
            is_tangled=self._is_tangled,
            is_plain=self._plain(tables.start.windows),
            row=nowhere,
            work_cause=nowhere,
            event_step=self._event_step,
            change=self._change,
            first_take=self._first_take,
            first_give=self._first_give,
            units=np.asarray(self.plan.pools.units, dtype=np.int64),
            first_level=self._first_take,
            n_levels=self._first_give,
            level_min=nowhere,
            level_free=self._first_take,
            seen_level=self._first_give,
            events=self._first_take,
            end_event=self._first_give,
            first_in_line=self._first_in_line,
            in_line=self._in_line,
            waiting=nothing,
            doing=nothing,
            caught=nobody,
            past_shift=nobody,
            is_lift=nobody,
            lifts=np.zeros(2, dtype=np.int64),
        )


def _numbers(numbers: Columns) -> Numbers:
    """Rows or columns as compiled code reads them; no copy if they are so already."""
    return numbers.astype(np.int32, copy=False)
