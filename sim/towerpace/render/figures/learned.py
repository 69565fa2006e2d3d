"""Pace of every trade: the stated range, and what the site has shown."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.figure import Figure

from towerpace.answers.learn.learned_said import FROM_COUNTS
from towerpace.answers.said.people import number, words
from towerpace.render.figures.style import BLACK, BLUE, GREY, HALO, PALE, new_figure, note
from towerpace.render.frames import Framed

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from pandas import Series


def learned_figure(framed: Framed) -> Figure:
    """A pale bar a trade for nine in ten stated paces, a dot and a line for what was learned."""
    table = framed["learned"]
    figure = new_figure(
        framed, title=_title(framed), height_in=float(np.clip(1.7 + 0.6 * len(table), 3.0, 9.0))
    )
    axes = figure.subplots()
    rows = [row for _, row in table.iterrows()]
    for place, row in enumerate(rows):
        _trade(axes, row, place=place)
    axes.axvline(1.0, color=GREY, linewidth=1.0, linestyle=":", zorder=0)
    axes.set_yticks(range(len(rows)), [words(str(row["trade"])) for row in rows])
    axes.set_ylim(len(rows) - 0.5, -0.75)
    axes.set_xlim(*_reach(framed))
    axes.set_xlabel("minutes over those stated, 1 as planned")
    axes.grid(axis="x")
    note(axes, "hatched: stated, 90 %; dot and line: learned, median and 90 %")
    return figure


def _title(framed: Framed) -> str:
    table = framed["learned"]
    known = table[table["level"].notna()]
    if known.empty:
        return "The site has shown no pace yet"
    far = known.loc[(np.log(known["level"])).abs().idxmax()]
    level = number(float(far["level"]), digits=2)
    trade = words(str(far["trade"])).capitalize()
    return f"{trade}: {level} times the minutes stated, further off than any other trade"


def _reach(framed: Framed) -> tuple[float, float]:
    """Ends of the axis: all bars and lines, and room for the words that begin with the rightmost."""
    shown = framed["learned"][["stated_low", "stated_high", "level_low", "level_high"]].to_numpy(float)
    low, high = min(float(np.nanmin(shown)), 1.0), max(float(np.nanmax(shown)), 1.0)
    return low - 0.05 * (high - low), high + 0.12 * (high - low)


def _trade(axes: Axes, row: Series[Any], *, place: int) -> None:
    width = row["stated_high"] - row["stated_low"]
    axes.barh(
        place,
        width,
        left=row["stated_low"],
        height=0.44,
        color=PALE,
        edgecolor=GREY,
        hatch="//",
        linewidth=0.8,
    )
    left, text = float(row["stated_low"]), str(row["remark"] or "nothing shown yet")
    if not np.isnan(row["level"]):
        ends = [row["level_low"], row["level_high"]]
        axes.plot(ends, [place, place], color=BLUE, linewidth=3.0, solid_capstyle="butt", path_effects=HALO)
        axes.plot(row["level"], place, "o", color=BLACK, markersize=7, markeredgecolor="white")
        left, text = min(left, float(row["level_low"])), _text(row)
    axes.annotate(text, (left, place - 0.3), va="bottom", fontsize=9, path_effects=HALO)


def _text(row: Series[Any]) -> str:
    low, middle, high = (number(float(row[c]), digits=2) for c in ("level_low", "level", "level_high"))
    remark = f"; {row['remark']}" if row["remark"] else ""
    return f"{middle} ({low} to {high}), {_shown_by(row)}{remark}"


def _shown_by(row: Series[Any]) -> str:
    if row["learned_from"] == FROM_COUNTS:
        return "from counts"
    running = f", {row['running']} running" if row["running"] else ""
    return f"{row['items']:,} items{running}"


FIGURES = {"learned": learned_figure}
