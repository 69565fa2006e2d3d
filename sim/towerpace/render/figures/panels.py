"""Panels set by the end of each week: the curve of the middle trial and the band of four in five."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from matplotlib.figure import Figure

from towerpace.render.figures.style import (
    BLUE,
    GREY,
    HALO,
    SKY,
    date_axis,
    day_number,
    day_numbers,
    day_text,
    new_figure,
)
from towerpace.render.frames import Framed
from towerpace.units import Floats

if TYPE_CHECKING:
    from matplotlib.axes import Axes


def panels_figure(framed: Framed) -> Figure:
    """The S-curve of a tower with panels."""
    table = framed["s_curve"]
    total = int(table["panels_total"].iloc[0])
    days = np.append(day_number(framed.run.start), day_numbers(table["week_end"]))
    low, middle, high = (np.append(0.0, table[f"panels_{p}"].to_numpy(float)) for p in ("p10", "p50", "p90"))
    figure = new_figure(framed, title=_title(days, middle, total=total, trials=framed.run.trials))
    axes = figure.subplots()
    # More panels by a day is better, so the few good trials bound the band above.
    axes.fill_between(days, low, high, color=SKY, alpha=0.45, linewidth=0)
    for edge in (low, high):
        axes.plot(days, edge, color=BLUE, linewidth=0.8, linestyle="--")
    axes.plot(days, middle, color=BLUE, linewidth=2.2)
    axes.axhline(total, color=GREY, linewidth=0.8, linestyle=":")
    axes.annotate(
        f"all {total:,} panels", (days[0], total), xytext=(4, 4), textcoords="offset points", color=GREY
    )
    _name_lines(axes, days=days, curves=(low, middle, high))
    date_axis(axes, low=days[0], high=days[-1] + 0.03 * (days[-1] - days[0]))
    axes.set_ylim(0, 1.1 * total)
    axes.set_ylabel("panels set by the end of the week")
    axes.grid(axis="y")
    return figure


def _title(days: Floats, middle: Floats, *, total: int, trials: int) -> str:
    who = "in the only trial" if trials == 1 else "in half of the trials"
    done = np.flatnonzero(middle >= total)
    half = np.flatnonzero(2 * middle >= total)
    if done.size and done[0] == half[0]:
        return f"All {total:,} panels are set by {day_text(days[done[0]])}, {who}"
    if done.size:
        by = f"by {day_text(days[half[0]])} and all by {day_text(days[done[0]])}"
        return f"Half of the {total:,} panels are set {by}, {who}"
    if half.size:
        by = f"by {day_text(days[half[0]])}"
        return f"Half of the {total:,} panels are set {by} {who}, but not all before the clock ends"
    return f"Fewer than half of the {total:,} panels are set before the clock ends, {who}"


def _name_lines(axes: Axes, *, days: Floats, curves: tuple[Floats, Floats, Floats]) -> None:
    """Words beside the band, at heights where it has room on either side."""
    low, middle, high = curves
    if np.array_equal(low, high):
        return
    for curve, share, text, side, away in (
        (high, 0.62, "more in 1 of 10 trials", "right", -10),
        (middle, 0.55, "median", "left", 60),
        (low, 0.40, "more in 9 of 10 trials", "left", 10),
    ):
        level = share * low.max()
        day = float(np.interp(level, curve, days))
        axes.annotate(
            text,
            (day, level),
            xytext=(away, 0),
            textcoords="offset points",
            arrowprops={"arrowstyle": "-", "color": BLUE, "linewidth": 0.8},
            ha=side,
            va="center",
            color=BLUE,
            path_effects=HALO,
        )
