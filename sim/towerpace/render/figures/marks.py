"""Contract dates, and their marks on figures that have levels up the side."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from towerpace.answers.said.people import share, words
from towerpace.render.figures.style import HALO, day_numbers, day_text
from towerpace.units import Floats

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from pandas import DataFrame

FINISH, CLOSING_IN = "finish", "closing-in"
FAR = 0.5  # share of the span shown: a contract date further away than this would squeeze the rest


@dataclass(frozen=True)
class Due:
    """A contract date and the chance, with its interval, that it is met.

    level : None for the finish. day : on matplotlib's scale. [d]
    """

    name: str
    level: float | None
    day: float
    chance: float
    low: float
    high: float


def dues(tables: Mapping[str, DataFrame], *kinds: str) -> list[Due]:
    """Contract dates of the finish, of closing-in, or of both, in the order of the scenario."""
    table = tables["contracts"]
    of_finish, dated = table["level"].isna(), table["date"].notna()
    table = table[dated & ((of_finish & (FINISH in kinds)) | (~of_finish & (CLOSING_IN in kinds)))]
    columns = [table[name].astype("float64").tolist() for name in ("chance", "chance_low", "chance_high")]
    levels = [None if np.isnan(level) else level for level in table["level"].to_numpy(float, na_value=np.nan)]
    days = day_numbers(table["date"]).tolist()
    return [Due(*row) for row in zip(table["contract"].tolist(), levels, days, *columns, strict=True)]


def with_near(days: Floats, contracts: list[Due]) -> tuple[float, float]:
    """First and last day to show: all known days, and the contract dates that are not far off. [d]

    days : at least one of them known.
    """
    low, high = float(np.nanmin(days)), float(np.nanmax(days))
    far = FAR * max(high - low, 14.0)
    near = [due.day for due in contracts if low - far < due.day < high + far]
    return min([low, *near]), max([high, *near])


def mark_contract(axes: Axes, due: Due, *, level: float, colour: str, corner: str, up: int = 0) -> None:
    """A diamond with its words, or an arrowhead at the side where the date is not shown.

    corner : where the words have room: "upper left", "upper center" or "lower right".
    up : marks whose words already stand at that height.
    """
    low, high = axes.get_xlim()
    day = due.day
    shape = ">" if day > high else "<" if day < low else "D"
    at = min(max(day, low), high)
    text = f"{words(due.name)}\n{day_text(day)}: met in {share(due.chance)}"
    if shape != "D":
        text += f"\n({'later' if day > high else 'earlier'} than shown)"
    vertical, _, side = corner.partition(" ")
    # Near the side of the axes there is room on one hand only.
    across = (at - low) / (high - low)
    side = "left" if across > 0.84 else "right" if across < 0.16 else side
    hand = {"left": "right", "right": "left", "center": "center"}[side]
    axes.plot(at, level, shape, color=colour, markersize=7, zorder=6, clip_on=False)
    axes.annotate(
        text,
        (at, level),
        xytext=({"left": -9, "right": 9, "center": 0}[side], 8 + 30 * up if vertical == "upper" else -4),
        textcoords="offset points",
        ha=hand,
        va="bottom" if vertical == "upper" else "top",
        color=colour,
        fontsize=9.5,
        path_effects=HALO,
        zorder=7,
    )
