"""The controlling chain of one trial on its flowline: all fronts thin, the chain bold, its trades named."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.figure import Figure

from towerpace.answers.said.people import words
from towerpace.plan.site.tower import CLOSING_IN, HANDOVER
from towerpace.render.figures.style import (
    BLACK,
    BLUE,
    GREEN,
    GREY,
    HALO,
    ORANGE,
    PINK,
    RED,
    SKY,
    date_axis,
    day_number,
    day_text,
    level_axis,
    new_figure,
    note,
)
from towerpace.render.frames import Framed
from towerpace.units import DAY_MIN, Floats

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.text import Annotation

THIN = "#BBBBBB"
_COLOURS = (BLUE, RED, GREEN, BLACK, PINK, ORANGE, SKY)
_LEAST = 0.03  # of the width: a shorter leg of the chain has no room for a name of its own
_SAID_D, _NAMES = 0.05, 4
_EDGE_PX = 4.0
EVENTS = "site events"


@dataclass(frozen=True)
class DrawnLeg:
    """Links of one trade in a row: corners of its line, and the days it took. [d]"""

    trade: str
    x: Floats
    y: Floats

    @property
    def days(self) -> float:
        """From the end of what came before to its own end. [d]"""
        return float(self.x[-1] - self.x[0])


def chain_figure(framed: Framed) -> Figure:
    """Levels over dates for one trial."""
    fronts, start = framed["fronts"], day_number(framed.run.start)
    levels = sorted(set(fronts["level"].astype(int).tolist()))
    legs = _legs(framed, start=start, lowest=float(levels[0]))
    figure = new_figure(framed, title=_title(framed, legs), height_in=7.0 if len(levels) > 6 else 5.0)
    axes = figure.subplots()
    known = fronts[["begun_min", "done_min"]].to_numpy(float, na_value=np.nan) / DAY_MIN + start
    low, high = min(float(np.nanmin(known)), legs[0].x[0]), legs[-1].x[-1]
    span = max(high - low, 7.0)
    date_axis(axes, low=low - 0.03 * span, high=high + 0.1 * span)
    _thin(axes, framed, start=start)
    colours = _colours(legs)
    for leg in legs:
        axes.plot(leg.x, leg.y, color="white", linewidth=5.5, solid_capstyle="butt", zorder=3)
        axes.plot(leg.x, leg.y, color=colours[leg.trade], linewidth=3.2, solid_capstyle="butt", zorder=4)
    for leg in legs:
        axes.plot(leg.x[0], leg.y[1], "o", color=BLACK, markerfacecolor="white", markersize=4.5, zorder=5)
    _names(axes, legs, colours)
    level_axis(axes, levels)
    axes.set_ylim(levels[0] - 1, max(float(leg.y.max()) for leg in legs) + 1.6)
    note(
        axes,
        "bold: controlling chain, a dot where the trade changes; thin: every work area; dashed: handovers",
    )
    return figure


def _legs(framed: Framed, *, start: float, lowest: float) -> list[DrawnLeg]:
    """The chain in pieces of one trade; what belongs to no level is drawn where the chain stands."""
    chain = framed["chain"]
    columns = (
        chain["trade"].tolist(),
        chain["level"].to_numpy(float, na_value=np.nan).tolist(),
        (chain["since_min"].to_numpy(float) / DAY_MIN + start).tolist(),
        (chain["finished_min"].to_numpy(float) / DAY_MIN + start).tolist(),
    )
    rows = list(zip(*columns, strict=True))
    legs, at = [], next((level for _, level, *_ in rows if not np.isnan(level)), lowest)
    for trade, group in groupby(rows, key=lambda row: row[0]):
        x, y = [], []
        for _, level, since, finished in group:
            # A riser joins each link to the level of the one before.
            x += [since, since, finished]
            y.append(at)
            at = at if np.isnan(level) else level
            y += [at, at]
        legs.append(DrawnLeg(trade or EVENTS, np.array(x), np.array(y)))
    return legs


def _title(framed: Framed, legs: list[DrawnLeg]) -> str:
    chain = framed["chain"]
    trial, end = int(chain["trial"].iloc[0]), legs[-1].x[-1]
    # A moment at midnight still belongs to the day before.
    finish = day_text(float(np.ceil(end) - 1))
    days: dict[str, float] = {}
    for leg in legs:
        days[leg.trade] = days.get(leg.trade, 0.0) + leg.days
    longest = max(days, key=lambda trade: days[trade])
    first, began = words(legs[0].trade), day_text(float(np.floor(legs[0].x[0])))
    return (
        f"Trial {trial} finishes on {finish}: its chain begins with {first} on {began} "
        f"and runs {days[longest]:.0f} days through {words(longest)}"
    )


def _thin(axes: Axes, framed: Framed, *, start: float) -> None:
    """A line a trade and zone, each level from begin to end."""
    for (trade, _), rows in framed["fronts"].groupby(["trade", "zone"], sort=False):
        level = rows["level"].to_numpy(float)
        ends = rows[["begun_min", "done_min"]].to_numpy(float, na_value=np.nan) / DAY_MIN + start
        x = ends.ravel()
        y = np.stack((level - 0.45, level + 0.45), axis=1).ravel()
        dashes = (0, (2, 2)) if trade == HANDOVER else "-"
        axes.plot(x, y, color=GREY if trade == HANDOVER else THIN, linewidth=0.8, linestyle=dashes, zorder=2)


def _colours(legs: list[DrawnLeg]) -> dict[str, str]:
    trades = list(dict.fromkeys(leg.trade for leg in legs))
    return {trade: _COLOURS[k % len(_COLOURS)] for k, trade in enumerate(trades)}


def _names(axes: Axes, legs: list[DrawnLeg], colours: dict[str, str]) -> None:
    """Trade and days beside the longest leg of every trade; short legs in a row share a name.

    To the upper left, where the chain has not been; what has no room there, to the right of its end.
    """
    low, high = axes.get_xlim()
    row, taken = float(np.ptp(axes.get_ylim())) / 26, list[tuple[float, float]]()
    total: dict[str, float] = {}
    texts: list[Annotation] = []
    for leg in legs:
        total[leg.trade] = total.get(leg.trade, 0.0) + leg.days
    for run in _runs(legs, least=_LEAST * (high - low)):
        x, y = run[0].x, run[0].y
        across = float(x[0] + x[-1]) / 2
        place = float(np.interp(across, x, y)) if len(run) == 1 else float(y[1])
        while any(abs(place - b) < row and abs(across - a) < 0.25 * (high - low) for a, b in taken):
            place += row
        taken.append((across, place))
        left = across > low + 0.25 * (high - low)
        text = axes.annotate(
            _said(run, total),
            (across, place),
            xytext=(-8 if left else 4, 7),
            textcoords="offset points",
            ha="right" if left else "left",
            va="bottom",
            color=colours[run[0].trade] if len(run) == 1 else BLACK,
            fontweight="bold",
            fontsize=9.5,
            path_effects=HALO,
            zorder=6,
        )
        text.set_in_layout(False)
        texts.append(text)
    _keep_inside(axes, texts)


def _keep_inside(axes: Axes, texts: list[Annotation]) -> None:
    """Move names sideways so far that none is cut at the edge of the axes."""
    figure = axes.get_figure(root=True)
    assert figure is not None, "axes stand in a figure"
    figure.draw_without_rendering()  # settles the layout
    for text in texts:
        box, extent = axes.bbox, text.get_window_extent()
        by = max(0.0, box.x0 + _EDGE_PX - extent.x0) - max(0.0, extent.x1 - box.x1 + _EDGE_PX)
        across, up = text.xyann
        text.xyann = (across + by * 72 / figure.dpi, up)


def _runs(legs: list[DrawnLeg], *, least: float) -> list[list[DrawnLeg]]:
    """What gets a name: the longest long leg of every trade, and every run of short ones."""
    longest: dict[str, DrawnLeg] = {}
    for leg in legs:
        if leg.days >= least and (leg.trade not in longest or leg.days > longest[leg.trade].days):
            longest[leg.trade] = leg
    runs = [[leg] for leg in longest.values()]
    for short, group in groupby(legs, key=lambda leg: leg.days < least):
        others = [leg for leg in group if leg.trade not in (CLOSING_IN, EVENTS, *longest)]
        if short and others and (others[0] is legs[0] or sum(leg.days for leg in others) >= least):
            runs.append(others)
    return runs


def _said(run: list[DrawnLeg], total: dict[str, float]) -> str:
    """Names, with the days that the chain spent on each in all where there is one, else on these legs."""
    names = list(dict.fromkeys(words(leg.trade) for leg in run))
    shown = ", ".join(names[:_NAMES]) + (" and others" if len(names) > _NAMES else "")
    days = total[run[0].trade] if len(names) == 1 else sum(leg.days for leg in run)
    return shown if days < _SAID_D else f"{shown}: {days:.1f} d"
