"""Promises: how many were kept week by week, why others were not, and whether chances were right."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator
from pandas import DataFrame

from towerpace.answers.said.people import share
from towerpace.render.figures.style import BLACK, BLUE, GREY, PALE, date_axis, day_numbers, new_figure, note
from towerpace.render.frames import Framed

MOST_REASONS = 8
MOST_NUMBERED = 20  # weeks whose bars bear numbers


def kept_figure(framed: Framed) -> Figure:
    """A bar a week: promises kept, and on top those that were not; beside it the reasons that were told."""
    weeks = framed["kept_by_week"]
    reasons = framed.get("reasons")
    due, kept = int(weeks["due"].sum()), int(weeks["kept"].sum())
    title = f"{kept} of {due} promises that were due were kept ({share(kept / due)})"
    figure = new_figure(framed, title=title, height_in=3.9)
    if reasons is None:
        _by_week(figure.subplots(), weeks)
        return figure
    left, right = figure.subplots(1, 2, width_ratios=(3, 2))
    _by_week(left, weeks)
    _why(right, reasons.head(MOST_REASONS))
    return figure


def _by_week(axes: Axes, weeks: DataFrame) -> None:
    ends = day_numbers(weeks["week_end"])
    due, kept = (weeks[name].to_numpy(float) for name in ("due", "kept"))
    axes.bar(ends, kept, width=5.6, color=BLUE)
    hatched: Any = {"color": PALE, "edgecolor": GREY, "hatch": "//", "linewidth": 0.8}
    for end, of, done in zip(ends.tolist(), due.tolist(), kept.tolist(), strict=True):
        axes.bar(end, of - done, width=5.6, bottom=done, **hatched)
        if len(ends) <= MOST_NUMBERED:
            text = f"{done:.0f}/{of:.0f}"
            axes.annotate(text, (end, of), (0, 2), textcoords="offset points", ha="center", fontsize=8.5)
    date_axis(axes, low=float(ends.min()) - 6, high=float(ends.max()) + 6)
    axes.set_ylim(0, float(due.max()) * 1.15)
    axes.yaxis.set_major_locator(MaxNLocator(integer=True))
    axes.set_ylabel("promises due in the week")
    note(axes, "filled: kept; hatched: not kept")


def _why(axes: Axes, reasons: DataFrame) -> None:
    names = reasons["reason"].replace("", None).fillna("not told").tolist()
    counts = reasons["promises"].to_numpy(float)
    axes.barh(range(len(names)), counts, height=0.6, color=PALE, edgecolor=GREY, hatch="//", linewidth=0.8)
    for place, count in enumerate(counts):
        axes.annotate(f"{count:.0f}", (count, place), (3, 0), textcoords="offset points", va="center")
    axes.set_yticks(range(len(names)), names)
    axes.set_ylim(len(names) - 0.4, -0.6)
    axes.set_xlim(0, float(counts.max()) * 1.15)
    axes.xaxis.set_major_locator(MaxNLocator(integer=True))
    axes.set_xlabel("promises not kept")


def reliability_figure(framed: Framed) -> Figure:
    """A dot a group of promises with like chances: the share kept; on the line if chances are right."""
    rows = framed["reliability"]
    figure = new_figure(framed, title=_title(rows), height_in=4.6)
    axes = figure.subplots()
    axes.plot([0, 1], [0, 1], color=GREY, linewidth=1.0, linestyle=":")
    chance, kept = rows["chance"].to_numpy(float), rows["kept"].to_numpy(float)
    low, high = (rows[name].to_numpy(float) for name in ("kept_low", "kept_high"))
    axes.vlines(chance, low, high, color=BLUE)
    axes.plot(chance, kept, "o", color=BLACK, markersize=6)
    for x, y, n in zip(chance, kept, rows["promises"], strict=True):
        axes.annotate(f"{n} promises", (x, y), (6, -11), textcoords="offset points", fontsize=9)
    marks = np.linspace(0, 1, 6)
    said = [f"{100 * mark:.0f} %" for mark in marks]
    axes.set_xticks(marks, said)
    axes.set_yticks(marks, said)
    axes.set_xlim(-0.03, 1.15)
    axes.set_ylim(-0.03, 1.03)
    axes.set_xlabel("mean chance that was given")
    axes.set_ylabel("share that was kept")
    note(axes, "lines: 95 %, were promises independent; dotted: right chances")
    return figure


def _title(rows: DataFrame) -> str:
    off = (rows["kept"] - rows["chance"]).to_numpy(float)
    worst = rows.iloc[int(np.abs(off).argmax())]
    given, kept = share(float(worst["chance"])), share(float(worst["kept"]))
    return f"Of {int(worst['promises'])} promises given {given}, {kept} were kept: the group furthest off"
