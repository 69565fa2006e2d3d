"""What was forecast and what came, forecast by forecast, level by level."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from pandas import DataFrame

from towerpace.render.figures.style import (
    BLACK,
    BLUE,
    GREY,
    SKY,
    date_axis,
    day_numbers,
    day_text,
    new_figure,
)
from towerpace.render.frames import Framed

MOST = 4  # forecasts side by side; the first and the last ones
_FROM_START = -1.0
_HOW = "bars: P10 to P90; ticks: P50; dots: came; arrows: open"


def came_figure(framed: Framed) -> Figure:
    """A bar from P10 to P90 for every level in each forecast, with what came, or that it is still open."""
    rows = framed["outcomes"]
    made = day_numbers(rows["data_date"])
    made = np.where(np.isnan(made), _FROM_START, made)
    which = sorted(set(made.tolist()))
    which = which if len(which) <= MOST else [which[0], *which[-MOST + 1 :]]
    figure = new_figure(framed, title=_title(framed), height_in=5.2)
    seen = float(day_numbers(DataFrame({"day": [framed.answer.fact("data_date")]})["day"])[0])
    top = int(rows["level"].max()) + 2 if rows["level"].notna().any() else 1
    for axes, day in zip(figure.subplots(1, len(which), sharey=True, squeeze=False)[0], which, strict=True):
        _panel(axes, rows[made == day], seen=seen, top=top)
        axes.set_title("from the start" if day == _FROM_START else day_text(day), fontsize=10.5, color=GREY)
    figure.axes[0].set_ylabel("level; the finish on top")
    figure.text(0.01, 0.012, _HOW, color=GREY, fontsize=9, va="bottom")
    return figure


def _title(framed: Framed) -> str:
    """The first sentence: what the last forecast was worth."""
    return str(framed.answer.said).split(". ", maxsplit=1)[0]


def _panel(axes: Axes, rows: DataFrame, *, seen: float, top: int) -> None:
    low, half, high, came = (day_numbers(rows[name]) for name in ("p10", "p50", "p90", "came"))
    heights = rows["level"].fillna(top).to_numpy(dtype=float)
    known = np.concatenate((low, high, came, [seen]))
    known = known[np.isfinite(known)]
    first, last = float(known.min()), float(known.max())
    date_axis(axes, low=first - 0.04 * (last - first), high=last + 0.04 * (last - first))
    axes.hlines(heights, low, np.where(np.isfinite(high), high, last), color=SKY, linewidth=3.5)
    axes.plot(half, heights, "|", color=BLUE, markersize=7)
    done = np.isfinite(came)
    axes.plot(came[done], heights[done], "o", color=BLACK, markersize=3.5, zorder=3)
    axes.plot(np.full(int((~done).sum()), seen), heights[~done], ">", color=BLACK, markersize=3.5, zorder=3)
    axes.axvline(seen, color=GREY, linewidth=0.8, linestyle=":")
