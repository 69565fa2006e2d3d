"""What a log shows of the trades of a plan: its rows as items beside what the scenario states."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from towerpace.answers.learn.items import Items, Stated
from towerpace.answers.learn.minutes import Shown, SiteClock
from towerpace.plan.arrays import PlanArrays
from towerpace.plan.chance import Law
from towerpace.plan.laws import Durations
from towerpace.plan.learned import front_numbers
from towerpace.plan.site.leave_outs import SlowerLaw
from towerpace.plan.site.lifting import CRANE_MOVE
from towerpace.plan.work_law import WorkLaw
from towerpace.scenario.spreads import Spread


@dataclass(frozen=True)
class _Row:
    """A row of the log as numbers: its front, its stated minutes times a factor, bounds of its minutes."""

    front: int
    stated: Stated
    factor: float
    low: float
    high: float


class LogItems:
    """Turns rows of a log into items.

    A row whose steps are not drawn under the pace of a trade says nothing; neither does one that has a factor
    of its own, such as setting into a gap, nor one that weather may have stopped without anybody saying when.

    laws : of chance of the plan.
    """

    def __init__(self, plan: PlanArrays, laws: Sequence[Law], *, clock: SiteClock) -> None:
        self._plan, self._clock = plan, clock
        self._stretched = {int(step) for law in laws if isinstance(law, SlowerLaw) for step in law.steps}
        self._law_of: dict[int, tuple[WorkLaw, int]] = {}
        for work in (work for law in laws if isinstance(law, Durations) for work in law.work if work.pace):
            self._law_of |= {step: (work, k) for k, step in enumerate(work.steps.tolist())}
        self._stated: dict[tuple[tuple[Spread, ...], tuple[float, ...], float], Stated] = {}
        self._front = front_numbers(plan)

    def by_trade(self, rows: Iterable[Shown]) -> dict[str, list[Shown]]:
        """The rows of each trade; those of steps that no pace stretches are in none."""
        grouped: dict[str, list[Shown]] = {}
        for row in rows:
            for trade in {self._law_of[step][0].pace for step in map(int, row.steps) if step in self._law_of}:
                grouped.setdefault(trade or "", []).append(row)
        return grouped

    def of(self, rows: Iterable[Shown], *, trade: str, data_date: int) -> Items:
        """Items of one trade, from the rows that are about it.

        data_date : minute up to which the site is known. [min]
        """
        taken = [self._row(shown, trade, data_date) for shown in rows]
        return _packed([row for row in taken if row is not None])

    def untold(self, rows: Iterable[Shown], *, trade: str, data_date: int) -> int:
        """Rows of a trade that weather may have stopped, where the site's weather is not known."""
        own = (row for row in rows if self._steps(row, trade))
        return sum(not self._clock.tells(row, data_date=data_date) for row in own)

    def _steps(self, shown: Shown, trade: str) -> list[int]:
        """Steps of a row whose minutes the pace of a trade stretches."""
        return [s for s in map(int, shown.steps) if s in self._law_of and self._law_of[s][0].pace == trade]

    def _between(self, steps: Sequence[int]) -> list[int]:
        """What has to happen between some steps and is none of them: moves of the crane, drying."""
        before = self._plan.before
        return [
            step
            for later in steps
            for step in map(int, before[later])
            if step not in steps and not set(steps).isdisjoint(map(int, before[step]))
        ]

    def _row(self, shown: Shown, trade: str, data_date: int) -> _Row | None:
        steps = self._steps(shown, trade)
        if not steps or self._stretched.intersection(steps):
            return None
        if not self._clock.tells(shown, data_date=data_date):
            return None
        between = self._between(steps)
        if shown.finish is None and len(steps) > 1:
            return None  # nobody says how much of it is done
        if any(self._plan.tags(step).kind != CRANE_MOVE for step in between):
            return None  # it has dried in between
        low, high = self._clock.bounds(shown, data_date=data_date)
        moves = float(sum(int(self._plan.work[step]) for step in between))
        stated, factor = self._stated_of(steps)
        if not stated.mean_min * factor or high <= moves:
            return None
        return _Row(int(self._front[steps[0]]), stated, factor, max(low - moves, 0.0), high - moves)

    def _stated_of(self, steps: Sequence[int]) -> tuple[Stated, float]:
        """What is stated of the minutes of some steps together, and the factor of one alone."""
        alone = [self._stated_alone(step) for step in steps]
        if len(alone) == 1:
            return alone[0]
        means = np.array([factor * stated.mean_min for stated, factor in alone])
        scatters = np.array([stated.scatter for stated, _ in alone])
        return Stated.lognormal(float(means.sum()), sd_min=float(np.hypot.reduce(means * scatters))), 1.0

    def _stated_alone(self, step: int) -> tuple[Stated, float]:
        law, k = self._law_of[step]
        key = _key_of(law, k)
        if key not in self._stated:
            self._stated[key] = stated_of(law, k)
        return self._stated[key], float(law.factor[k])


def stated_of(law: WorkLaw, place: int) -> Stated:
    """What is stated of the minutes of one step of a law, before its pace and its factor."""
    spreads, weights, fixed_min = _key_of(law, place)
    return Stated.of(spreads, weights=weights, fixed_min=fixed_min)


def _key_of(law: WorkLaw, place: int) -> tuple[tuple[Spread, ...], tuple[float, ...], float]:
    weights = tuple(float(law.weight(j)[place]) for j in range(len(law.terms)))
    return tuple(term.spread for term in law.terms), weights, float(law.fixed[place])


def _packed(rows: Sequence[_Row]) -> Items:
    stated = tuple({id(row.stated): row.stated for row in rows}.values())
    number = {id(law): k for k, law in enumerate(stated)}
    return Items(
        stated,
        np.array([number[id(row.stated)] for row in rows], dtype=np.int64),
        np.array([row.factor for row in rows], dtype=np.float64),
        np.array([row.low for row in rows], dtype=np.float64),
        np.array([row.high for row in rows], dtype=np.float64),
        np.array([row.front for row in rows], dtype=np.int64),
    )
