"""The split of `waits` on the compiled kernel's tables: the same minutes, found without building spans."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from towerpace.answers.ledger.waits import AGAIN, LATE, LINE, MOVE, SHIFT, WORK, Minutes, Timekeeper
from towerpace.answers.ledger.waits_compiled import split_all
from towerpace.answers.ledger.waits_tables import Keeping
from towerpace.draws import Draw
from towerpace.engine.diary import NEVER, Diary
from towerpace.engine.kernel.air import air_of
from towerpace.engine.kernel.scan import Arrays
from towerpace.engine.kernel.site import site_of
from towerpace.engine.kernel.tables import compiled
from towerpace.engine.openings import Openings
from towerpace.plan.model import NONE, Plan

Ints = NDArray[np.int64]
MINUTE_BITS = 32


class FastTimekeeper(Timekeeper):
    """A timekeeper whose `split` is compiled; it scans the hours of the draw and needs no openings."""

    def __init__(self, plan: Plan, labels: Sequence[str]) -> None:
        super().__init__(plan, labels)
        causes = self._cause
        used = set(plan.window.tolist())
        limits = [limit for k, w in enumerate(plan.windows) if k in used for limit in w.limits]
        self._named = np.array([causes[c] for c in (WORK, MOVE, AGAIN, SHIFT, "wind", LATE, LINE)])
        self._of_limit = np.array([causes[limit.cause] for limit in limits], dtype=np.int64)
        of_pool = np.append(self._label, NONE)  # a step without needs has no first pool
        self._facts = np.stack((of_pool[self._first_pool], self._tangled), axis=1).astype(np.int64)
        self._shifts, self._shift_starts = _shifts(plan)
        lines = [np.flatnonzero(np.equal(plan.lists.line, k)) for k in range(len(plan.pools.lines))]
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
        takers = np.repeat(np.arange(plan.n), np.diff(plan.needs.start))
        givers = np.repeat(np.arange(plan.n), np.diff(plan.give_pool.start))
        pool = np.concatenate((plan.needs.values, plan.give_pool.values))
        asked = np.isin(pool, list(self._uses))
        self._event_step = np.concatenate((takers, givers))[asked]
        self._is_give = np.repeat([False, True], [len(takers), len(givers)])[asked]
        change = np.concatenate((-plan.quantities.values, plan.give_quantity.values))[asked]
        self._change = change.astype(np.int64)
        self._pool_bits = pool[asked] << MINUTE_BITS
        counts = np.bincount(pool[asked], minlength=len(plan.pools.names))
        self._level_starts = _starts((counts + 1).tolist())
        self._levels = np.zeros((self._level_starts[-1], 2), dtype=np.int64)
        self._levels[self._level_starts[:-1], 0] = NEVER
        self._levels[self._level_starts[:-1], 1] = plan.pools.units

    def split(self, draw: Draw, openings: Openings, diary: Diary) -> Minutes:
        """Minutes of one trial; `openings` are not looked at."""
        del openings
        keeping = self._keeping(draw, diary)
        step, times = self._event_step, keeping.times
        minutes = np.where(self._is_give, diary.finished[step], diary.started[step]).astype(np.int64)
        known = (minutes != NEVER) & ~draw.skip[step]
        minutes = np.where(known, minutes, NEVER)
        order = np.argsort(self._pool_bits + (minutes + 1))
        split_all(keeping, order, minutes, np.where(known, self._change, 0))
        ready, to = times[:, 0], np.where(times[:, 0] == NEVER, NEVER, times[:, 2])
        return Minutes(self.causes, keeping.waiting.T, keeping.doing.T, ready, to, keeping.caught)

    def _keeping(self, draw: Draw, diary: Diary) -> Keeping:
        waiting, doing = np.zeros((2, self.plan.n, len(self.causes)), dtype=np.int64)
        return Keeping(
            a=self._arrays(draw),
            named=self._named,
            of_limit=self._of_limit,
            of_pool=self._label,
            shifts=self._shifts,
            shift_starts=self._shift_starts,
            facts=self._facts,
            times=_times(diary),
            work=np.ascontiguousarray(draw.work, dtype=np.int64),
            skip=np.ascontiguousarray(draw.skip),
            level_starts=self._level_starts,
            levels=self._levels.copy(),
            line_starts=self._line_starts,
            in_line=self._in_line,
            waiting=waiting,
            doing=doing,
            caught=np.zeros(self.plan.n, dtype=np.bool_),
        )

    def _arrays(self, draw: Draw) -> Arrays:
        made = compiled(self.plan)
        air = air_of(draw.hours, made.variables)
        site = site_of(made.plan, made.start, draw=draw, air=air)
        return Arrays(made.plan, site, made.bounds, air.factors, air.values.reshape(-1))


def _times(diary: Diary) -> Ints:
    """Ready, started and ended, to the horizon where it never came, and finished, (n, 4). [min]"""
    times = np.empty((diary.plan.n, 4), dtype=np.int64)
    ready, begun, ended, finished = times.T
    ready[:], finished[:] = diary.ready, diary.finished
    came, horizon = ready != NEVER, diary.plan.horizon
    begun[:] = np.where(came & (diary.started == NEVER), horizon, diary.started)
    ended[:] = np.where(came & (finished == NEVER), horizon, finished)
    return times


def _shifts(plan: Plan) -> tuple[Ints, Ints]:
    """Shifts of all windows up to the horizon with the open minutes before each, and where each's begin."""
    tables = []
    for window in plan.windows:
        shifts = np.asarray(window.shifts, dtype=np.int64).reshape(-1, 2)
        shifts = np.minimum(shifts[shifts[:, 0] < plan.horizon], plan.horizon)
        length = shifts[:, 1] - shifts[:, 0]
        tables.append(np.column_stack((shifts, np.cumsum(length) - length)))
    starts = _starts([len(t) for t in tables])
    return np.concatenate([np.zeros((0, 3), dtype=np.int64), *tables]), starts


def _starts(counts: list[int]) -> Ints:
    return np.concatenate(([0], np.cumsum(counts, dtype=np.int64)))
