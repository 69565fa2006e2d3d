"""How many units of each resource are held, week by week, in the hours in which the resource works."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from towerpace.answers.ledger.waits import open_before
from towerpace.draws import Draw
from towerpace.engine.diary import NEVER, Diary
from towerpace.plan.arrays import NONE
from towerpace.plan.model import Plan
from towerpace.plan.site.fronts import NO_ROW
from towerpace.units import Ints

AWAY = ("absence", "breakdown")
Changes = list[tuple[Ints, Ints]]  # minutes, and by how many units what is held changes then


@dataclass(frozen=True)
class Held:
    """Unit-minutes of one resource in its hours. [min]

    busy, away, there : (n_weeks,) held for work, held by an absence or a repair, and on the site.
    idle, whole : from its first use to its last, not held, and all of them less those away.
    """

    busy: Ints
    away: Ints
    there: Ints
    idle: int
    whole: int


class Holding:
    """What holds the units of one pool, and the hours in which the pool works.

    Its hours are all shifts in which any step that needs it may start or be worked at; weather does not
    shorten them. pool : number of the pool.
    """

    def __init__(self, plan: Plan, pool: int) -> None:
        takes, gives = plan.needs.values == pool, plan.give_pool.values == pool
        self._units = int(plan.pools.units[pool])
        self._takers, self._taken = plan.needs.owners[takes], plan.quantities.values[takes]
        self._givers, self._given = plan.give_pool.owners[gives], plan.give_quantity.values[gives]
        given_by = plan.give_taker.values[gives]
        self._arrive = given_by == NONE
        is_away = plan.by_tags(lambda t: t.trade == NO_ROW and t.kind in AWAY) == 1
        self._take_away, self._give_away = is_away[self._takers], is_away[given_by]
        # What is taken for work and never given back leaves the site when that work ends.
        self._leave = ~self._take_away & ~np.isin(self._takers, given_by)
        # Its hours are those in which it is worked with.
        self.hours = _hours(plan, self._takers[~self._take_away])

    def of(self, draw: Draw, diary: Diary, *, edges: Ints) -> Held:
        """Unit-minutes of a trial; edges : (n_weeks + 1,) of the weeks. [min]"""
        started, finished = (self._stamps(x, draw) for x in (diary.started, diary.finished))
        taken, ended, given = started[self._takers], finished[self._takers], finished[self._givers]
        work_given = ~self._give_away & ~self._arrive
        left, leaving = ended[self._leave], self._taken[self._leave]
        busy = [
            (taken[~self._take_away], self._taken[~self._take_away]),
            (given[work_given], -self._given[work_given]),
            (left, -leaving),
        ]
        away = [
            (taken[self._take_away], self._taken[self._take_away]),
            (given[self._give_away], -self._given[self._give_away]),
        ]
        there = [
            (np.zeros(1, dtype=np.int64), np.array([self._units])),
            (given[self._arrive], self._given[self._arrive]),
            (left, -leaving),
        ]
        week = [np.diff(self._integral(changes, edges)) for changes in (busy, away, there)]
        span = _span(taken[~self._take_away], [given[work_given], left], end=int(edges[-1]))
        held, off, whole = (int(np.diff(self._integral(x, span))[0]) for x in (busy, away, there))
        return Held(week[0], week[1], week[2] - week[1], whole - off - held, whole - off)

    @staticmethod
    def _stamps(stamps: NDArray[np.int32], draw: Draw) -> Ints:
        """Minutes of every step, NEVER too for those that are skipped: they take and give nothing."""
        return np.where(draw.skip, NEVER, stamps).astype(np.int64)

    def _integral(self, changes: Changes, edges: Ints) -> Ints:
        """Unit-minutes in the hours of the pool before each edge. [min]"""
        minutes, quantities = (np.concatenate(x) for x in zip(*changes, strict=True))
        minutes, quantities = minutes[minutes != NEVER], quantities[minutes != NEVER]
        order = np.argsort(minutes, kind="stable")
        at, level = np.append(0, minutes[order]), np.append(0, np.cumsum(quantities[order]))
        open_at = open_before(self.hours, at)
        before = np.append(0, np.cumsum(level[:-1] * np.diff(open_at)))
        k = np.searchsorted(at, edges, side="right") - 1
        whole: Ints = before[k] + level[k] * (open_before(self.hours, edges) - open_at[k])
        return whole


def _span(taken: Ints, given: list[Ints], *, end: int) -> Ints:
    """From the first use to the last, both 0 where there is none; a use that never ends runs to the end."""
    begun = taken[taken != NEVER]
    ended = np.concatenate([minutes[minutes != NEVER] for minutes in given])
    if not len(begun):
        return np.zeros(2, dtype=np.int64)
    return np.array([begun.min(), ended.max() if len(ended) >= len(begun) else end])


def _hours(plan: Plan, steps: Ints) -> Ints:
    """All shifts of the windows of these steps as one list, (n, 2); all the time where none has a window."""
    windows = np.unique(plan.window[steps])
    shifts = {plan.windows[k].name: np.asarray(plan.windows[k].shifts) for k in windows.tolist() if k != NONE}
    if not shifts:
        return np.array([[0, plan.horizon]], dtype=np.int64)
    rows = np.unique(np.concatenate([x.reshape(-1, 2) for x in shifts.values()]), axis=0).astype(np.int64)
    ends = np.maximum.accumulate(rows[:, 1])
    begins = np.flatnonzero(np.append(True, rows[1:, 0] > ends[:-1]))
    return np.column_stack((rows[begins, 0], ends[np.append(begins[1:] - 1, len(rows) - 1)]))
