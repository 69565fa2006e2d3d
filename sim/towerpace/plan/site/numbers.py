"""A scenario as the recipes of a plan's numbers read it: by front, in minutes since its first midnight."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from functools import cached_property
from math import log2

import numpy as np

from towerpace.plan.site.fronts import Front, fronts_of
from towerpace.plan.site.paces import pace_means
from towerpace.scenario.levels import Levels
from towerpace.scenario.load import Scenario
from towerpace.scenario.schema import Settings
from towerpace.scenario.spreads import Spread
from towerpace.units import DAY_MIN, Floats, Ints


class Numbers:
    """What the recipes of one plan read, worked out once where many ask for it."""

    def __init__(self, scenario: Scenario) -> None:
        self.settings: Settings = scenario.settings
        self.levels: Levels = scenario.levels
        self._learned: dict[str, Floats] = {}

    @cached_property
    def fronts(self) -> tuple[Front, ...]:
        """All fronts in planned order."""
        return fronts_of(self.levels)

    @cached_property
    def height_m(self) -> Floats:
        """Height of each front, (n_fronts,). [m]"""
        return np.repeat(self.levels.height_m, len(self.levels.zones))

    @cached_property
    def difficulty(self) -> Floats:
        """Factor on the minutes of each front, (n_fronts,). [-]"""
        return self.levels.difficulty.ravel()

    @cached_property
    def pace_means(self) -> dict[str, float]:
        """Expected pace factor of every trade. [-]"""
        return pace_means(self.settings)

    def learned(self, trade: str) -> Floats:
        """Minutes of each front over those of the first, by its place in planned order, (n_fronts,). [-]"""
        if trade not in self._learned:
            self._learned[trade] = self._learning_of(trade)
        return self._learned[trade]

    def _learning_of(self, trade: str) -> Floats:
        learning, n = self.settings.trade[trade].learning, len(self.fronts)
        if learning is None:
            return np.ones(n)
        units = np.arange(1, n + 1)
        if learning.reset == "difficulty":
            begins = np.flatnonzero(np.diff(self.difficulty, prepend=np.nan) != 0)
            units = np.arange(n) - begins[np.searchsorted(begins, np.arange(n), side="right") - 1] + 1
        rate, plateau = float(learning.rate), learning.plateau_fronts
        of_unit = {unit: unit_factor(unit, rate=rate, plateau=plateau) for unit in set(units.tolist())}
        return np.array([of_unit[unit] for unit in units.tolist()])

    def minute_of(self, day: date | None) -> int:
        """First minute of a day; 0 if none is stated. [min]"""
        return 0 if day is None else (day - self.settings.tower.start).days * DAY_MIN

    @property
    def horizon(self) -> int:
        """Minutes of the whole project. [min]"""
        return self.settings.tower.horizon_days * DAY_MIN


def unit_factor(unit: int, *, rate: float, plateau: int) -> float:
    """Time of a unit over the time of the first, on the unit (Crawford) learning curve. [-]

    unit : 1, 2, ... in planned order. rate : ratio for every doubling. plateau : unit from which it stays.

    Notes
    -----
    n ** log2(rate), the unit curve of Crawford (1944); not the cumulative average curve of Wright (1936).

    >>> round(unit_factor(10, rate=0.8, plateau=100), 4)
    0.4765
    """
    return float(min(unit, plateau) ** log2(rate))


Recipe = Callable[[Numbers], float | Floats | Ints]
"""One number for all steps that follow it, or one for each place."""
SpreadOf = Callable[[Numbers], Spread]


def one(_: Numbers) -> float:
    """No factor."""
    return 1.0


def zero(_: Numbers) -> float:
    """No minutes."""
    return 0.0
