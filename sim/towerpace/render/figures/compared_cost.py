"""What each set-up costs and when it finishes: cost against P80."""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import fill
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.figure import Figure
from numpy.typing import NDArray

from towerpace.answers.said.people import words
from towerpace.render.figures.style import (
    BLUE,
    GREY,
    apart,
    date_axis,
    day_numbers,
    day_text,
    new_figure,
    note,
)
from towerpace.render.frames import Framed
from towerpace.units import Floats

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Places = NDArray[np.intp]
LINE_IN = 0.19  # height of a name
AROUND_IN = 1.9  # above and below the axes
LETTERS = 36  # of a line of names


def cost_figure(framed: Framed) -> Figure:
    """Mean cost against P80, a dot a set-up; a line joins those that no other beats in both."""
    table = framed["setups"].merge(framed["costs"], on="setup")
    days, cost = day_numbers(table["p80"]), table["cost"].to_numpy(float)
    known = np.flatnonzero(np.isfinite(days) & np.isfinite(cost))
    names = [words(name) for name in table["setup"]]
    best = _unbeaten(days, cost, known)
    title = _title([f"'{name}'" for name in names], days, cost, best)
    figure = new_figure(framed, title=title, height_in=height_for([names[k] for k in known]))
    axes = figure.subplots()
    span = max(float(np.ptp(days[known])), 7.0)
    date_axis(axes, low=float(days[known].min()) - 0.12 * span, high=float(days[known].max()) + 0.12 * span)
    axes.plot(days[best], cost[best], color=BLUE, linewidth=1.2, zorder=1)
    inside = np.isin(known, best)
    axes.plot(days[known[inside]], cost[known[inside]], "o", color=BLUE, markersize=8)
    axes.plot(days[known[~inside]], cost[known[~inside]], "o", color=GREY, markersize=7, fillstyle="none")
    axes.margins(y=0.08)
    label_dots(axes, [names[k] for k in known], days[known], cost[known])
    axes.set_xlabel("P80 of the finish")
    axes.set_ylabel(f"mean cost of a trial [{framed.answer.fact('unit')}]")
    axes.yaxis.set_major_formatter("{x:,.0f}")
    axes.grid(axis="y")
    lacking = len(names) - len(known)
    more = f"; {lacking} without a known P80 or cost" if lacking else ""
    note(axes, f"full dots: no other set-up is both earlier and cheaper{more}")
    return figure


def _unbeaten(days: Floats, cost: Floats, known: Places) -> Places:
    """Set-ups that no other beats in date and cost, the earliest first."""
    kept: list[int] = []
    for k in sorted(known.tolist(), key=lambda k: (days[k], cost[k])):
        if not kept or cost[k] < cost[kept[-1]]:
            kept.append(k)
    return np.array(kept, dtype=np.intp)


def _title(names: list[str], days: Floats, cost: Floats, best: Places) -> str:
    first, cheapest = int(best[0]), int(best[-1])
    if first == cheapest:
        return f"{names[first]} is both the earliest and the cheapest: P80 {day_text(days[first])}"
    later = days[cheapest] - days[first]
    more = cost[first] - cost[cheapest]
    return (
        f"{names[cheapest]} is the cheapest; {names[first]} finishes {later:.0f} days earlier "
        f"at P80 for {more:,.0f} more"
    )


def height_for(names: Sequence[str]) -> float:
    """Height of a figure that has these names beside its axes. [in]"""
    return max(5.4, AROUND_IN + LINE_IN * _lines(names) * len(names))


def _lines(names: Sequence[str]) -> int:
    """Lines of the longest name."""
    return max((fill(name, LETTERS).count("\n") + 1 for name in names), default=1)


def label_dots(axes: Axes, names: Sequence[str], days: Floats, cost: Floats) -> None:
    """Names beside the axes, the dearest on top, each led to its dot: there they never overprint.

    names, days, cost : of the dots that are named.
    """
    figure = axes.get_figure(root=True)
    height_in = 0.0 if figure is None else figure.get_figheight()
    gap = LINE_IN * _lines(names) / (height_in - AROUND_IN)
    low, high = axes.get_ylim()
    order = np.lexsort((-days, cost)).tolist()
    for k, place in zip(order, _column([(cost[k] - low) / (high - low) for k in order], gap), strict=True):
        axes.annotate(
            fill(names[k], LETTERS),
            (days[k], cost[k]),
            xytext=(1.04, place),
            textcoords="axes fraction",
            va="center",
            fontsize=9.5,
            arrowprops={"arrowstyle": "-", "color": GREY, "linewidth": 0.5, "shrinkB": 4, "relpos": (0, 0.5)},
        )


def _column(heights: list[float], gap: float) -> list[float]:
    """Heights of names in a column: near those of their dots, apart, and none above the axes."""
    up = apart(heights, gap=gap)
    from_top = apart([1 - min(height, 1.0) for height in reversed(up)], gap=gap)
    return [1 - height for height in reversed(from_top)]
