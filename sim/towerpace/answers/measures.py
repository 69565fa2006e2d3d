"""What a forecast keeps of every trial."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from towerpace.answers.cost import CostBook
from towerpace.answers.estimates import LATER, or_later
from towerpace.answers.ledger.book import Ledger
from towerpace.draws import Draw
from towerpace.engine.diary import NEVER, Diary
from towerpace.engine.kernel.gather import starts
from towerpace.engine.openings import Openings
from towerpace.plan.site.activities import ACTIVITIES
from towerpace.plan.site.fronts import CURING
from towerpace.plan.site.leave_outs import LEAVE_OUTS
from towerpace.plan.site.tower import Tower
from towerpace.trials.outcome import Outcome
from towerpace.units import WEEK_MIN, Ints


@dataclass(frozen=True)
class ForecastMeasure:
    """Finish, milestones, flow of the trades, panels set by week, and the ledger of every trial."""

    tower: Tower
    costs: CostBook | None

    def reader(self) -> ForecastReader:
        """Prepare what is the same in every trial."""
        return ForecastReader(self.tower, self.costs)


class ForecastReader:
    """Reads diaries of one tower.

    Values of a trial, all int64, in minutes unless said otherwise, LATER where beyond the horizon:
    finish (), handover and closing_in (n_levels,), begun and done (n_trades, n_levels) over the zones of a
    level, once_begun and once_done (n_once,) of what happens once, panels (n_weeks,) set by the end of each
    week [-], ledger (n_rows, n_causes), caught () lifts under way when their hour turned bad [-],
    past_shift () lifts that end after their shift [-], cost (n_items,) in thousandths of the unit of money.
    Sums: ledger (n_rows, n_levels, n_causes).
    """

    def __init__(self, tower: Tower, costs: CostBook | None) -> None:
        self._tower, self._costs, self._ledger = tower, costs, Ledger(tower)
        self._once = OnceStamps(tower)
        self._n_weeks = -(-tower.plan.horizon // WEEK_MIN)

    def __call__(self, draw: Draw, openings: Openings, diary: Diary) -> Outcome:
        """Results of one trial; the ledger scans the hours of the draw and does not look at openings."""
        del openings
        tower, finished = self._tower, diary.finished
        book, caught, past_shift = self._ledger.booked(draw, diary)
        values = {
            **milestones_of(tower, diary),
            **self._once.of(diary),
            "panels": self._by_week(finished[tower.setting(draw.skip)]),
            "ledger": book.sum(axis=1),
            "caught": np.int64(caught),
            "past_shift": np.int64(past_shift),
        }
        if self._costs is not None:
            values["cost"] = self._costs.of(diary)
        return Outcome({k: np.asarray(v, dtype=np.int64) for k, v in values.items()}, {"ledger": book})

    def _by_week(self, finished: NDArray[np.int32]) -> Ints:
        """How many have finished by the end of each week, (n_weeks,). [-]"""
        week = np.maximum(finished[finished != NEVER] - 1, 0) // WEEK_MIN
        return np.cumsum(np.bincount(week, minlength=self._n_weeks))


class OnceStamps:
    """Reads off diaries of one tower when what happens once begins and is done."""

    def __init__(self, tower: Tower) -> None:
        once = list(once_steps(tower).values())
        self._steps = np.concatenate([np.zeros(0, dtype=np.int64), *once])
        self._first = starts(np.array([len(steps) for steps in once], dtype=np.int64))[:-1]

    def of(self, diary: Diary) -> dict[str, Ints]:
        """First and last minute of everything that happens once, once_begun and once_done (n_once,)."""
        return {
            "once_begun": self._reduced(np.minimum, diary.started),
            "once_done": self._reduced(np.maximum, diary.finished),
        }

    def _reduced(self, most: np.ufunc, stamps: NDArray[np.int32]) -> Ints:
        minutes = or_later(stamps[self._steps])
        return most.reduceat(minutes, self._first) if len(self._first) else minutes


def once_steps(tower: Tower) -> dict[str, Ints]:
    """Steps of everything that happens once, by its name, in the order of the plan."""
    names = list(dict.fromkeys(name for t in tower.plan.tags_used if (name := _name(t.trade, t.kind))))
    number = {name: k for k, name in enumerate(names)}
    which = tower.plan.by_tags(lambda t: number.get(_name(t.trade, t.kind), -1))
    return {name: np.flatnonzero(which == k) for name, k in number.items()}


def _name(trade: str, kind: str) -> str:
    if trade == LEAVE_OUTS:
        return LEAVE_OUTS
    return kind if trade == ACTIVITIES and kind != CURING else ""


def milestones_of(tower: Tower, diary: Diary) -> dict[str, Ints]:
    """Finish, handover, closing-in, begin and end of every trade by level, as `ForecastReader` says them."""
    started, finished = diary.started, diary.finished
    by_level = (len(tower.trades), len(tower.levels), len(tower.zones))
    return {
        "finish": np.array(LATER if diary.finish is None else diary.finish, dtype=np.int64),
        "handover": or_later(finished[tower.handover]),
        "closing_in": or_later(finished[tower.closing_in]),
        "begun": or_later(started[tower.first]).reshape(by_level).min(axis=2),
        "done": or_later(finished[tower.last]).reshape(by_level).max(axis=2),
    }
