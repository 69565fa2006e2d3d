"""The figure of a baseline: how much float each trade has on each level."""

from __future__ import annotations

import numpy as np
from matplotlib.figure import Figure

from towerpace.answers.said.people import words
from towerpace.render.figures.style import (
    LINE_COLOURS,
    LINE_DASHES,
    level_axis,
    new_figure,
    note,
)
from towerpace.render.frames import Framed
from towerpace.units import Floats, Ints


def float_figure(framed: Framed) -> Figure:
    """A line a trade: working days by which its work areas may be late along the links, level by level."""
    table = framed["fronts"]
    trades = list(dict.fromkeys(table["what"].tolist()))
    levels = np.sort(table["level"].astype(int).unique())
    least = {trade: _by_level(framed, trade, levels) for trade in trades}
    figure = new_figure(framed, title=_title(least, levels), height_in=7.0 if len(levels) > 6 else 5.0)
    axes = figure.subplots()
    for k, (trade, days) in enumerate(least.items()):
        colour, dashes = LINE_COLOURS[k % len(LINE_COLOURS)], LINE_DASHES[k % len(LINE_DASHES)]
        axes.plot(days, levels, color=colour, linestyle=dashes, linewidth=2, label=words(trade))
    high = max((float(np.nanmax(days)) for days in least.values() if not np.isnan(days).all()), default=1.0)
    axes.set_xlim(0, 1.25 * max(high, 1.0))
    axes.legend(loc="upper right")
    axes.set_xlabel("float along the links [working days], median of the trials")
    axes.grid(axis="x")
    level_axis(axes, levels.tolist())
    note(axes, "of the work area of each level that has least")
    return figure


def _by_level(framed: Framed, trade: str, levels: Ints) -> Floats:
    table = framed["fronts"]
    own = table[table["what"] == trade].groupby("level")["float_days"].min()
    return own.reindex(levels).to_numpy(float)


def _title(least: dict[str, Floats], levels: Ints) -> str:
    some = {trade: days for trade, days in least.items() if not np.isnan(days).all()}
    known = [(float(np.nanmin(days)), trade, int(np.nanargmin(days))) for trade, days in some.items()]
    if not known:
        return "No trial finishes, so nothing has a float"
    days, trade, row = min(known)
    level = int(levels[row])
    return f"Least float: {words(trade)} on level {level}, {days:.0f} working days in the median trial"


FIGURES = {"float": float_figure}
