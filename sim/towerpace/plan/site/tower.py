"""The whole plan of a scenario, with what the answers need to find their way in it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from towerpace.plan.arrays import NONE
from towerpace.plan.chance import Law
from towerpace.plan.model import Plan
from towerpace.plan.site.fronts import Front
from towerpace.plan.site.writing import CLOSING_IN, HANDOVER, Written, write
from towerpace.scenario.load import Scenario
from towerpace.units import Flags, Ints

__all__ = ["CLOSING_IN", "HANDOVER", "Tower", "build", "unlimited"]

WRITTEN_KEPT = 6  # one more and one less of what takes other steps, and the base
STEPS_KEPT = 300_000  # more of them are kept as long as they have so many steps together


@dataclass(frozen=True)
class Tower:
    """A compiled scenario: the plan of a tower, how chance decides its numbers, and where things are in it.

    `build` makes one. Steps are numbers: places in the arrays of the plan, of a draw and of a diary.

    Attributes
    ----------
    name : str
        Of the tower.
    start : date
        The day whose first midnight is minute 0.
    plan : Plan
        Steps, pools and windows.
    laws : tuple of Law
        How chance decides about the steps, in the order in which the laws are applied.
    fronts : tuple of Front
        In planned order: from the lowest level up, along each level in order of work.
    levels, zones, trades : tuple
        In the order of the scenario.
    first, last : ndarray
        Steps that begin and end each trade on each front, shape (n_trades, n_fronts).
    panels : ndarray
        Steps that set each panel, shape (n_panels,).
    set_again : ndarray
        Steps that set a panel instead where it was lost, shape (n_panels,); -1 where it cannot be lost.
    gone : dict
        Step with which a unit leaves for good on a date, by resource and number of the unit.
    windows_of : dict
        Numbers of the windows that follow each calendar.
    handover : ndarray
        Steps at whose end each level is handed over, shape (n_levels,).
    closing_in : ndarray
        Steps at whose end each level is closed in, shape (n_levels,); empty if the scenario defines none.

    Examples
    --------
    >>> from towerpace import load
    >>> from towerpace.plan.site.tower import build
    >>> tower = build(load("scenarios/one_trade/scenario.toml"))
    >>> tower.plan.graph().number_of_nodes() == tower.plan.n
    True
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
    gone: dict[tuple[str, int], int]
    windows_of: dict[str, tuple[int, ...]]
    handover: Ints
    closing_in: Ints

    def setting(self, skip: Flags) -> Ints:
        """Steps that set each panel in a trial that leaves these steps out, (n_panels,)."""
        needed = np.where((self.set_again != NONE) & ~skip[self.set_again], self.set_again, NONE)
        again = needed.max(axis=1, initial=NONE)
        return np.where(again != NONE, again, self.panels)


_KEPT: list[Written] = []  # the last structures written in this process, the latest first


def build(scenario: Scenario) -> Tower:
    """The plan of a scenario; its steps are written only if no plan at hand has the same.

    Raises `PlanError` for one that could never run, `ValueError` for a height that the law does not cover.
    """
    written = next((kept for kept in _KEPT if kept.fits(scenario)), None)
    if written is None:
        written = write(scenario)
    else:
        _KEPT.remove(written)
    _KEPT[:] = _within_room([written, *_KEPT])
    return numbered(written, scenario)


def _within_room(written: Sequence[Written]) -> list[Written]:
    """The first of some structures, as many as are kept."""
    steps = np.cumsum([one.plan.n for one in written])
    return list(written[: max(WRITTEN_KEPT, int(np.searchsorted(steps, STEPS_KEPT, side="right")))])


def is_written(scenario: Scenario) -> bool:
    """Whether a plan with the same steps is at hand, so that `build` takes hundredths of a second."""
    return any(kept.fits(scenario) for kept in _KEPT)


def numbered(written: Written, scenario: Scenario) -> Tower:
    """The plan with the numbers of a scenario that has the same steps.

    Raises `PlanError` for one that could never run, `ValueError` for a height that the law does not cover.
    """
    plan, laws = written.numbered(scenario)
    levels, settings = scenario.levels, scenario.settings
    return Tower(
        name=settings.tower.name,
        start=settings.tower.start,
        plan=plan,
        laws=laws,
        fronts=written.fronts,
        levels=tuple(levels.levels),
        zones=tuple(levels.zones),
        trades=tuple(settings.trade),
        first=written.first,
        last=written.last,
        panels=written.panels,
        set_again=written.set_again,
        gone=written.gone,
        windows_of=written.windows_of,
        handover=written.handover,
        closing_in=written.closing_in,
    )


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
