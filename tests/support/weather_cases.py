"""Random plans whose windows have weather limits, with hours some of which break them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from support.dice import Dice
from support.random_plans import Case, random_case
from towerpace.climate.faces import FacedWind
from towerpace.climate.hours import Hours
from towerpace.climate.limits import HourLimit
from towerpace.draws import Draw

CAUSES = {"gust": "wind", "on a face": "wind", "rain": "rain", "temperature": "cold"}
VALUES = (5.0, 10.0, 14.0)
DIRECTIONS = (0.0, 45.0, 200.0, np.nan)
EAST = FacedWind("gust", facing_deg=90, sector_deg=45, lee_factor=0.6)


def random_case_in_weather(dice: Dice) -> Case:
    """A random plan whose windows have weather limits, and hours some of which break them."""
    plan, drawn = random_case(dice)
    windows = tuple(replace(window, limits=_limits(dice)) for window in plan.windows)
    count = dice.whole(1, 5)
    wind, rain, cold = (np.array([dice.of(VALUES) for _ in range(count)]) for _ in range(3))
    direction = np.array([dice.of(DIRECTIONS) for _ in range(count)])
    hours = Hours(wind, wind, rain_mm=rain, temperature_c=cold, direction_deg=direction)
    return plan.changed(windows=windows), Draw(drawn.work, drawn.date, drawn.skip, hours)


def _limits(dice: Dice) -> list[HourLimit]:
    """Limits on gusts, also on a face, rain and cold, with waits around the whole hour."""
    return [_limit(dice, dice.of(tuple(CAUSES))) for _ in range(dice.whole(0, 3))]


def _limit(dice: Dice, variable: str) -> HourLimit:
    below = variable == "temperature"
    return HourLimit(
        variable,
        EAST if variable == "on a face" else variable,
        above=None if below else 10.0,
        below=10.0 if below else None,
        ratio=dice.of((1.0, 0.7, 1.3)) if CAUSES[variable] == "wind" else 1.0,
        restart_min=dice.of((0, 1, 20, 59, 60, 61, 130)),
        cause=CAUSES[variable],
    )
