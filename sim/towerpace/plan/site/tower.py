"""The whole plan of a scenario, with what the answers need to find their way in it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

import numpy as np
from numpy.typing import NDArray

from towerpace.plan.laws import Durations, HandoverLaw, Law
from towerpace.plan.model import NONE, Plan
from towerpace.plan.network import network
from towerpace.plan.parts import Step, Tags
from towerpace.plan.site.activities import add_activities
from towerpace.plan.site.closures import Closures
from towerpace.plan.site.drafting import Draft
from towerpace.plan.site.fronts import (
    Front,
    closing_in_name,
    fronts_of,
    handover_name,
    water_test_name,
)
from towerpace.plan.site.gang_fronts import add_gang_front
from towerpace.plan.site.logistics import pools_of
from towerpace.plan.site.mock_up import add_mock_up
from towerpace.plan.site.paces import pace_law, pace_means
from towerpace.plan.site.panel_fronts import PanelFronts
from towerpace.plan.site.risks import add_late_levels
from towerpace.plan.site.sequence import Sequence
from towerpace.plan.site.shifts import DAY_MIN
from towerpace.plan.site.supply import add_site_supply
from towerpace.plan.site.water_test import add_water_test
from towerpace.scenario.load import Scenario
from towerpace.scenario.schema import GangTrade, PanelTrade

Ints = NDArray[np.int64]
RANKS_PER_FRONT = 10_000  # ranks of the crates of one front lie between those of two fronts
HANDOVER, CLOSING_IN = "structure", "closing-in"


@dataclass(frozen=True)
class Tower:
    """A compiled scenario.

    first, last : (n_trades, n_fronts) steps that begin and end each trade on each front.
    panels : (n_panels,) steps that set each panel; set_again : (n_panels,) steps that set it instead where it
        was lost, -1 where it cannot be.
    handover : (n_levels,) steps. closing_in : (n_levels,) steps, empty if the scenario defines none.
    """

    name: str
    start: date
    plan: Plan
    laws: tuple[Law, ...]
    fronts: tuple[Front, ...]
    levels: tuple[int, ...]
    zones: tuple[str, ...]
    trades: tuple[str, ...]
    first: Ints
    last: Ints
    panels: Ints
    set_again: Ints
    handover: Ints
    closing_in: Ints

    def setting(self, skip: NDArray[np.bool_]) -> Ints:
        """Steps that set each panel in a trial that leaves these steps out, (n_panels,)."""
        again = (self.set_again != NONE) & ~skip[self.set_again]
        return np.where(again, self.set_again, self.panels)


def build(scenario: Scenario) -> Tower:
    """Write out the plan of a scenario.

    Raises `PlanError` for one that could never run, `ValueError` for a height that the law does not cover.
    """
    settings, levels = scenario.settings, scenario.levels
    fronts = fronts_of(levels)
    sequence = Sequence(settings, levels, fronts)
    draft = Draft(Closures(settings), pace_means(settings))
    draft.pools.extend(pools_of(settings, levels, fronts))
    for floor, level in enumerate(levels.levels):
        _add_handover(draft, level, planned=(levels.handover[floor] - settings.tower.start).days * DAY_MIN)
    add_site_supply(draft, sequence)
    _add_trades(draft, sequence)
    add_activities(draft, sequence)
    add_mock_up(draft, sequence)
    add_late_levels(draft, settings, levels)
    for floor, level in enumerate(levels.levels if settings.closing_in else ()):
        _add_closing_in(draft, level, floor, sequence=sequence)
    plan = Plan(
        draft.steps,
        pools=draft.pools,
        windows=draft.closures.windows,
        horizon=settings.tower.horizon_days * DAY_MIN,
    )
    if settings.policy.rank == "most urgent":
        # Ranks below 0 come before every front, however much time there is.
        plan = plan.changed(rank=np.where(plan.rank < 0, plan.rank, network(plan).latest_start))
    handover = _numbers(plan, [handover_name(level) for level in levels.levels])
    laws: tuple[Law, ...] = (
        Durations(draft.work_laws(plan.index), pace_law(settings)),
        HandoverLaw(handover, plan.date[handover], settings.structure.slip_days),
        *(make(plan.index) for make in draft.laws),
    )
    return Tower(
        name=settings.tower.name,
        start=settings.tower.start,
        plan=plan,
        laws=laws,
        fronts=fronts,
        levels=tuple(levels.levels),
        zones=tuple(levels.zones),
        trades=tuple(settings.trade),
        first=_ends(plan, sequence, first=True),
        last=_ends(plan, sequence, first=False),
        panels=_numbers(plan, [name for name, _ in draft.panels]),
        set_again=np.array([NONE if a is None else plan.index[a] for _, a in draft.panels], dtype=np.int64),
        handover=handover,
        closing_in=_numbers(plan, [closing_in_name(v) for v in levels.levels if settings.closing_in]),
    )


def _numbers(plan: Plan, names: list[str]) -> Ints:
    return np.array([plan.index[name] for name in names], dtype=np.int64)


def _add_handover(draft: Draft, level: int, *, planned: int) -> None:
    tags = Tags(trade=HANDOVER, level=level, kind="handover")
    draft.add(Step(handover_name(level), date=planned, tags=tags))


def _add_trades(draft: Draft, sequence: Sequence) -> None:
    """Every trade on every front, ranked by front and then by trade."""
    trades = sequence.settings.trade
    panel_fronts = {
        name: PanelFronts(draft, name=name, trade=trade, sequence=sequence)
        for name, trade in trades.items()
        if isinstance(trade, PanelTrade)
    }
    for front in sequence.fronts:
        for k, (name, trade) in enumerate(trades.items()):
            rank = (front.number * len(trades) + k) * RANKS_PER_FRONT
            if isinstance(trade, GangTrade):
                add_gang_front(draft, name=name, trade=trade, front=front, sequence=sequence, rank=rank)
            else:
                panel_fronts[name].add(front, rank=rank)
        add_water_test(draft, front, sequence=sequence, rank=rank + 1)
    for written in panel_fronts.values():
        written.finish()


def _add_closing_in(draft: Draft, level: int, floor: int, *, sequence: Sequence) -> None:
    rule = sequence.settings.closing_in
    assert rule is not None, "asked for only where the scenario defines closing-in"
    after = [
        sequence.weathertight_step(trade, sequence.front_at(on, zone))
        for on, trades in ((floor, rule.trades), (floor + 1, rule.also_above))
        if on < len(sequence.levels.levels)
        for trade in trades
        for zone in sequence.levels.zones
    ]
    if rule.tests and sequence.tested(floor):
        after += [water_test_name(sequence.front_at(floor, zone)) for zone in sequence.levels.zones]
    tags = Tags(trade=CLOSING_IN, level=level, kind="closing-in")
    draft.add(Step(closing_in_name(level), after=list(dict.fromkeys(after)), tags=tags))


def _ends(plan: Plan, sequence: Sequence, *, first: bool) -> Ints:
    """First or last step of each trade on each front, (n_trades, n_fronts)."""
    rows = []
    for name in sequence.settings.trade:
        bases = [f"{name} {front.where}" for front in sequence.fronts]
        begin = [next(n for n in (f"{b}: coat 1", b, f"{b}: move in") if n in plan.index) for b in bases]
        end = [sequence.last_step(name, front) for front in sequence.fronts]
        rows.append(_numbers(plan, begin if first else end))
    return np.array(rows, dtype=np.int64).reshape(len(rows), len(sequence.fronts))


def unlimited(plan: Plan) -> Plan:
    """The same plan with so many units of every pool that nobody ever waits for one."""
    demand = np.zeros(len(plan.pools.names), dtype=np.int64)
    np.add.at(demand, plan.needs.values, plan.quantities.values)
    at = tuple(
        places[:1] * int(n) if places else ()
        for places, n in zip(plan.pools.at, demand.tolist(), strict=True)
    )
    line = np.full_like(plan.pools.line, NONE)
    units = np.maximum(demand, plan.pools.units)
    return plan.changed(pools=replace(plan.pools, units=units, at=at, line=line))
