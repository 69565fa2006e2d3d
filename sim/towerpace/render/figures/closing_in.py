"""Closing-in of every level: from the date that half of the trials keep to that of four in five."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from matplotlib.figure import Figure

from towerpace.render.figures.marks import CLOSING_IN, dues, mark_contract, with_near
from towerpace.render.figures.style import (
    BLACK,
    BLUE,
    HALO,
    RED,
    SKY,
    date_axis,
    day_number,
    day_numbers,
    day_text,
    level_axis,
    new_figure,
    note,
)
from towerpace.render.frames import Framed

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from pandas import DataFrame


def closing_in_figure(framed: Framed) -> Figure:
    """A bar a level from P50 to P80, with the contract dates of levels."""
    table = framed["closing_in"]
    height_in = float(np.clip(1.7 + 0.19 * len(table), 3.4, 9.0))
    figure = new_figure(framed, title=_title(framed), height_in=height_in)
    axes = figure.subplots()
    levels = table["level"].to_numpy(int)
    half, fifths = day_numbers(table["p50"]), day_numbers(table["p80"])
    low, high = _reach(framed)
    date_axis(axes, low=low, high=high)
    ends = np.where(np.isnan(fifths), axes.get_xlim()[1], fifths)
    axes.barh(levels, ends - half, left=half, height=0.55, color=SKY, edgecolor=BLUE, linewidth=0.8)
    axes.plot(half, levels, "o", color=BLACK, markersize=4)
    marked = level_axis(axes, levels.tolist())
    axes.set_ylim(levels[0] - 1, levels[-1] + 1)
    never = "; no bar: not before the clock ends in half of the trials" if np.isnan(half).any() else ""
    note(axes, f"dot: P50, end of the bar: P80{never}")
    _dates(axes, table, marked=marked)
    _contracts(axes, framed)
    return figure


def _title(framed: Framed) -> str:
    """The level that a contract names, the highest of them, else the top level."""
    table = framed["closing_in"].set_index("level")
    named = [due.level for due in dues(framed, CLOSING_IN) if due.level is not None]
    level = int(max(named, default=table.index.max()))
    half, fifths = day_numbers(table.loc[[level], "p50"]), day_numbers(table.loc[[level], "p80"])
    if np.isnan(half[0]):
        return f"Level {level} is closed in by the end of the clock in fewer than half of the trials"
    if framed.run.trials == 1:
        return f"Level {level} is closed in on {day_text(half[0])} in the only trial"
    if half[0] == fifths[0]:
        return f"Level {level} is closed in by {day_text(half[0])} in four of five trials"
    late = "not in four of five" if np.isnan(fifths[0]) else f"by {day_text(fifths[0])} in four of five"
    return f"Level {level} is closed in by {day_text(half[0])} in half of the trials, {late}"


def _reach(framed: Framed) -> tuple[float, float]:
    table = framed["closing_in"]
    days = np.concatenate([day_numbers(table["p50"]), day_numbers(table["p80"])])
    if np.isnan(days).all():
        days = np.array([day_number(framed.run.last)])
    low, high = with_near(days, dues(framed, CLOSING_IN))
    span = max(high - low, 14.0)
    return low - 0.04 * span, high + 0.12 * span


def _dates(axes: Axes, table: DataFrame, *, marked: list[int]) -> None:
    """Dates in words beside the bars of the marked levels, away from their contract dates."""
    low, high = axes.get_xlim()
    columns = (day_numbers(table[c]) for c in ("p50", "p80", "contract_date"))
    for level, half, fifths, due in zip(table["level"].to_numpy(int), *columns, strict=True):
        if level not in marked or np.isnan(half):
            continue
        known = np.isfinite(fifths)
        text = f"P50 {day_text(half)}, P80 {day_text(fifths) if known else 'beyond the horizon'}"
        before = half > low + 0.36 * (high - low) and not due < half
        axes.annotate(
            text,
            (half if before or not known else fifths, level),
            xytext=(-8 if before else 8, 0),
            textcoords="offset points",
            ha="right" if before else "left",
            va="center",
            fontsize=9,
            path_effects=HALO,
        )


def _contracts(axes: Axes, framed: Framed) -> None:
    table = framed["closing_in"]
    halves = dict(zip(table["level"].tolist(), day_numbers(table["p50"]), strict=True))
    for due in dues(framed, CLOSING_IN):
        level = due.level or 0.0
        # Bars run from the lower left to the upper right: the other two corners are free.
        corner = "upper left" if due.day < halves[level] else "lower right"
        mark_contract(axes, due, level=level, colour=RED, corner=corner)
