"""A scenario written out as steps and pools, and the numbers that its recipes give them.

The two are apart. Writing looks at the scenario and notes at what; numbering reads the recipes. A scenario in
which all that was noted is the same gets its plan by numbering alone, and it is the plan that writing anew
would give, because writing anew would see the same and end with the same numbering.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

import numpy as np

from towerpace.plan.chance import Law
from towerpace.plan.laws import Durations
from towerpace.plan.model import Plan
from towerpace.plan.network import network
from towerpace.plan.parts import MoveTable
from towerpace.plan.site.activities import add_activities
from towerpace.plan.site.closures import Closures
from towerpace.plan.site.drafting import Draft, DrawnMinutes, Served
from towerpace.plan.site.fronts import (
    GONE,
    LAST,
    StepKey,
    closing_in_step,
    front_begun,
    fronts_of,
    handover_step,
    water_test_step,
)
from towerpace.plan.site.gang_fronts import GangFronts, WaterTests
from towerpace.plan.site.leaving import add_places, hold_leavings
from towerpace.plan.site.logistics import CraneMoves, add_pools
from towerpace.plan.site.mock_up import add_mock_up
from towerpace.plan.site.numbers import Numbers
from towerpace.plan.site.paces import pace_law
from towerpace.plan.site.reading import Reading
from towerpace.plan.site.remakes import padded
from towerpace.plan.site.risks import HandoverLaw, add_late_levels, handover_days, late_level_delays
from towerpace.plan.site.sequence import Precedence
from towerpace.plan.site.setting import PanelFronts
from towerpace.plan.site.steps_ahead import StepsAhead
from towerpace.plan.site.supply import add_site_supply
from towerpace.plan.work_law import Term, WorkLaw
from towerpace.scenario.load import Scenario
from towerpace.scenario.schema import GangTrade
from towerpace.units import Floats, Ints

RANKS_PER_FRONT = 10_000  # ranks of the crates of one front lie between those of two fronts
HANDOVER, CLOSING_IN = "structure", "closing-in"


@dataclass(frozen=True)
class _Rows:
    """The steps of one recipe, and where each finds its number."""

    steps: Ints
    places: Ints
    items: Ints

    @classmethod
    def of(cls, column: Served) -> _Rows:
        return cls(*(np.array(c, dtype=np.int64) for c in (column.steps, column.places, column.items)))

    def pick(self, numbers: float | Floats | Ints) -> Floats:
        """The number of every step, (k,)."""
        values = np.asarray(numbers, dtype=np.float64)
        return values[self.places] if values.ndim else np.full(len(self.steps), values)


class Written:
    """The steps of a scenario, with the recipes of their numbers.

    first, last, panels, set_again, gone, handover, closing_in : steps, as `Tower` has them.
    """

    def __init__(self, draft: Draft, order: Precedence, scenario: Scenario) -> None:
        self._reading, self._closures, self._laws = draft.reading, draft.closures, tuple(draft.laws)
        self._rows = scenario.levels.rows()
        self._units = tuple(draft.units_of)
        self._work = [(recipe, _Rows.of(column)) for recipe, column in draft.work.items()]
        self._date = [(recipe, _Rows.of(column)) for recipe, column in draft.date.items()]
        self._minutes = [(*key, _Rows.of(column)) for key, column in draft.minutes.items()]
        self.plan = draft.plan()
        self.fronts = order.fronts
        levels = scenario.levels.levels
        self.first, self.last = _ends(draft, order)
        self.panels = np.array([step for step, _ in draft.panels], dtype=np.int64)
        self.set_again = padded([again for _, again in draft.panels])
        self.handover = draft.numbers_of(handover_step(level) for level in levels)
        self.gone = {(key.of, key.at): step for key, step in draft.ends.items() if key.kind == GONE}
        self.windows_of = draft.closures.by_calendar()
        closed = levels if draft.settings.closing_in else ()
        self.closing_in = draft.numbers_of(closing_in_step(level) for level in closed)

    def fits(self, scenario: Scenario) -> bool:
        """Whether a scenario has these very steps."""
        return scenario.levels.rows() == self._rows and self._reading.holds_for(Numbers(scenario))

    def numbered(self, scenario: Scenario) -> tuple[Plan, tuple[Law, ...]]:
        """The plan with the numbers of a scenario with these steps, and how chance decides them.

        Raises `PlanError` for numbers under which it could never run, `ValueError` for a height that the
        height law does not cover.
        """
        numbers = Numbers(scenario)
        work, date = np.zeros((2, self.plan.n), dtype=np.int64)
        durations = [self._duration(*row, numbers=numbers, work=work) for row in self._minutes]
        for column, recipes in ((work, self._work), (date, self._date)):
            for recipe, rows in recipes:
                column[rows.steps] = rows.pick(recipe(numbers)).astype(np.int64)
        plan = self.plan.numbered(
            work=work,
            date=date,
            units=np.array([int(units(numbers)) for units in self._units], dtype=np.int64),
            moves=_moves(numbers),
            windows=self._closures.windows(numbers),
            horizon=numbers.horizon,
        )
        if numbers.settings.policy.rank == "most urgent":
            # Ranks below 0 come before every front, however much time there is; the last rank stays last.
            own = (plan.rank < 0) | (plan.rank == LAST)
            plan = plan.changed(rank=np.where(own, plan.rank, network(plan).latest_start))
        slips = HandoverLaw(
            self.handover,
            date[self.handover],
            numbers.settings.structure.slip_days,
            handover_days(numbers),
            late_level_delays(numbers, scenario.levels),
        )
        laws = (Durations(tuple(durations), pace_law(numbers.settings)), slips)
        return plan, (*laws, *(law(numbers) for law in self._laws))

    def _duration(
        self, recipe: DrawnMinutes, owner: str, rows: _Rows, *, numbers: Numbers, work: Ints
    ) -> WorkLaw:
        """How the minutes of the steps of one recipe are drawn; writes the expected ones."""
        weights = recipe.weights(numbers) if callable(recipe.weights) else recipe.weights
        law = WorkLaw(
            steps=rows.steps,
            items=rows.items,
            factor=rows.pick(recipe.factor(numbers)),
            fixed=rows.pick(recipe.fixed(numbers)),
            terms=tuple(Term(term.spread(numbers), term.purpose, owner) for term in recipe.terms),
            pace=recipe.pace,
            weights=None if weights is None else np.asarray(weights, dtype=np.float64)[rows.places],
            source=recipe.terms[0].source,
        )
        expected = law.mean_minutes(pace=1.0 if recipe.pace is None else numbers.pace_means[recipe.pace])
        if recipe.planned_factor is not None:
            expected = np.rint(expected * recipe.planned_factor(numbers)).astype(np.int64)
        work[rows.steps] = expected
        return law


def _moves(numbers: Numbers) -> dict[str, MoveTable]:
    crane = numbers.settings.crane
    return {} if crane is None else {crane.resource: CraneMoves(crane, numbers.fronts)}


def write(scenario: Scenario) -> Written:
    """Write out the steps of a scenario.

    Raises `PlanError` for steps that could never be done.
    """
    reading = Reading(Numbers(scenario), lambda numbers: numbers.settings)
    levels, fronts = scenario.levels, fronts_of(scenario.levels)
    order = Precedence(reading, levels, fronts)
    draft = Draft(reading, Closures(reading))
    add_pools(draft, levels, fronts)
    add_places(draft)
    for floor, level in enumerate(levels.levels):
        draft.add(
            ("handover of L", level),
            key=handover_step(level),
            tags=draft.tags(HANDOVER, level=level, kind="handover"),
            date=partial(_handover_min, floor),
        )
    add_site_supply(draft, order)
    _add_trades(draft, order)
    add_activities(draft, order)
    add_mock_up(draft, order)
    add_late_levels(draft, levels)
    for floor, level in enumerate(levels.levels if draft.settings.closing_in else ()):
        _add_closing_in(draft, level, floor, order=order)
    hold_leavings(draft)
    return Written(draft, order, scenario)


def _handover_min(floor: int, numbers: Numbers) -> int:
    return numbers.minute_of(numbers.levels.handover[floor])


def _add_trades(draft: Draft, order: Precedence) -> None:
    """Every trade on every front, ranked by front and then by trade."""
    trades = draft.settings.trade
    writers = {
        name: GangFronts(draft, name=name, trade=trade, order=order)
        if isinstance(trade, GangTrade)
        else PanelFronts(draft, name=name, trade=trade, order=order)
        for name, trade in trades.items()
    }
    tests, ahead = WaterTests(draft, order), StepsAhead(draft, order)
    for front in order.fronts:
        rank = front.number * len(trades) * RANKS_PER_FRONT
        for writer in writers.values():
            writer.add(front, rank=rank)
            rank += RANKS_PER_FRONT
        tests.add(front, rank=rank - RANKS_PER_FRONT + 1)
        ahead.look(front)
    for writer in writers.values():
        if isinstance(writer, PanelFronts):
            writer.finish()


def _add_closing_in(draft: Draft, level: int, floor: int, *, order: Precedence) -> None:
    rule = draft.settings.closing_in
    assert rule is not None, "asked for only where the scenario defines closing-in"
    after: list[StepKey] = [
        order.weathertight_step(trade, order.front_at(on, zone))
        for on, trades in ((floor, rule.trades), (floor + 1, rule.also_above))
        if on < len(order.levels.levels)
        for trade in trades
        for zone in order.levels.zones
    ]
    if rule.tests and order.tested(floor):
        after += [water_test_step(order.front_at(floor, zone)) for zone in order.levels.zones]
    tags = draft.tags(CLOSING_IN, level=level, kind="closing-in")
    draft.add(("closing-in of L", level), key=closing_in_step(level), after=after, tags=tags)


def _ends(draft: Draft, order: Precedence) -> tuple[Ints, Ints]:
    """First and last step of each trade on each front, each (n_trades, n_fronts)."""
    trades = list(draft.settings.trade)
    shape = (len(trades), len(order.fronts))
    first, last = (
        draft.numbers_of(step(name, front) for name in trades for front in order.fronts).reshape(shape)
        for step in (front_begun, order.last_step)
    )
    return first, last
