"""What a forecast keeps of every trial."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from towerpace.answers.cost import CostBook
from towerpace.answers.estimates import or_later
from towerpace.answers.ledger.block import LedgerBlock
from towerpace.answers.ledger.book import Ledger
from towerpace.draws import Draw
from towerpace.engine.diary import NEVER, Diary, Stamps, finishes
from towerpace.engine.kernel.block import Block
from towerpace.engine.kernel.gather import starts
from towerpace.engine.openings import Openings
from towerpace.plan.site.activities import ACTIVITIES
from towerpace.plan.site.fronts import CURING
from towerpace.plan.site.leave_outs import LEAVE_OUTS
from towerpace.plan.site.tower import Tower
from towerpace.trials.kept import Kept
from towerpace.trials.outcome import BlockReader, Outcome, Outcomes
from towerpace.units import WEEK_MIN, Flags, Ints


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
            **self._once.of(diary.started, finished),
            "panels": self._panels(draw.skip, finished),
            "ledger": book.sum(axis=1),
            "caught": np.int64(caught),
            "past_shift": np.int64(past_shift),
        }
        if self._costs is not None:
            values["cost"] = self._costs.of(diary)
        return Outcome({k: np.asarray(v, dtype=np.int64) for k, v in values.items()}, {"ledger": book})

    def in_blocks(self, block: Block) -> BlockReader:
        """Reads many trials at once, with the same results."""
        ledgers = LedgerBlock(self._ledger, block)

        def read(draws: Sequence[Draw]) -> Outcomes | None:
            ledgers.begin()
            return self._of_block(block, ledgers, len(draws)) if block.play(draws) else None

        return read

    def _of_block(self, block: Block, ledgers: LedgerBlock, n: int) -> Outcomes:
        started, finished = block.started[:n], block.finished[:n]
        values = {
            **milestones(self._tower, started, finished),
            **self._once.of(started, finished),
            "panels": np.stack([self._panels(block.skip[k], finished[k]) for k in range(n)]),
            "ledger": ledgers.ledger[:n],
            "caught": ledgers.lifts[:n, 0],
            "past_shift": ledgers.lifts[:n, 1],
        }
        if self._costs is not None:
            values["cost"] = np.stack([self._costs.of(block.diary(k)) for k in range(n)])
        return Outcomes(n, Kept.of(values), {"ledger": ledgers.total.copy()})

    def _panels(self, skip: Flags, finished: Stamps) -> Ints:
        """Panels set by the end of each week, (n_weeks,). [-]"""
        return self._by_week(finished[self._tower.setting(skip)])

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

    def of(self, started: Stamps, finished: Stamps) -> dict[str, Ints]:
        """First and last minute of everything that happens once, once_begun and once_done (..., n_once).

        started, finished : (..., n), of one trial or of many.
        """
        return {
            "once_begun": self._reduced(np.minimum, started),
            "once_done": self._reduced(np.maximum, finished),
        }

    def _reduced(self, most: np.ufunc, stamps: Stamps) -> Ints:
        minutes = or_later(stamps[..., self._steps])
        return most.reduceat(minutes, self._first, axis=-1) if len(self._first) else minutes


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
    return milestones(tower, diary.started, diary.finished)


def milestones(tower: Tower, started: Stamps, finished: Stamps) -> dict[str, Ints]:
    """The same of one trial or of many side by side; started, finished : (..., n). [min]"""
    of_trials, by_level = started.shape[:-1], (len(tower.trades), len(tower.levels), len(tower.zones))
    return {
        "finish": or_later(finishes(tower.plan, finished)),
        "handover": or_later(finished[..., tower.handover]),
        "closing_in": or_later(finished[..., tower.closing_in]),
        "begun": or_later(started[..., tower.first]).reshape(*of_trials, *by_level).min(axis=-1),
        "done": or_later(finished[..., tower.last]).reshape(*of_trials, *by_level).max(axis=-1),
    }
