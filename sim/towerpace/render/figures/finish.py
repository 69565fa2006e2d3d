"""When the tower is finished: how many trials have finished by each day, and in which weeks they finish."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from matplotlib.figure import Figure

from towerpace.answers.said.people import share, words
from towerpace.render.figures.marks import FINISH, dues, with_near
from towerpace.render.figures.style import (
    BLACK,
    BLUE,
    GREY,
    HALO,
    RED,
    SKY,
    date_axis,
    day_number,
    day_numbers,
    day_text,
    new_figure,
    note,
)
from towerpace.render.frames import Framed
from towerpace.units import Floats

if TYPE_CHECKING:
    from matplotlib.axes import Axes

WEEK_D = 7


def finish_figure(framed: Framed) -> Figure:
    """Cumulative share of the trials over the histogram by week, percentiles and contract dates marked."""
    figure = new_figure(framed, title=_title(framed), height_in=6.0)
    upper, lower = figure.subplots(2, 1, sharex=True, height_ratios=(2.1, 1))
    days = day_numbers(framed["finish"]["finish"])
    low, high = _reach(framed, days)
    date_axis(upper, low=low, high=high)
    _histogram(lower, days, first=day_number(framed.run.start))
    _cumulative(upper, days)
    _percentiles(upper, lower, framed)
    _contracts(upper, lower, framed)
    _unfinished(lower, framed, days)
    return figure


def _title(framed: Framed) -> str:
    table = framed["percentiles"].set_index("percentile")
    half, four_fifths = day_numbers(table.loc[["P50", "P80"], "finish"])
    horizon = day_text(day_number(framed.run.last))
    if framed.run.trials == 1:
        ends = f"finishes on {day_text(half)}" if np.isfinite(half) else f"does not finish by {horizon}"
        return f"The only trial {ends}"
    if np.isnan(half):
        return f"Fewer than half of the trials finish by {horizon}, where the clock ends"
    if np.isnan(four_fifths):
        return f"Half of the trials finish by {day_text(half)}, fewer than four in five by {horizon}"
    days = day_numbers(framed["finish"]["finish"])
    if np.ptp(days) == 0:
        return f"All trials finish on {day_text(half)}"
    if half == four_fifths:
        return f"Four in five trials finish by {day_text(half)}"
    return f"Half of the trials finish by {day_text(half)}, four in five by {day_text(four_fifths)}"


def _reach(framed: Framed, days: Floats) -> tuple[float, float]:
    """Dates shown: all finishes, and contract dates that are not far off. [d]"""
    known = days[np.isfinite(days)]
    if not known.size:
        known = np.array([day_number(framed.run.last)])
    span = max(float(np.ptp(known)), 4.0 * WEEK_D)
    low, high = with_near(known, dues(framed, FINISH))
    wide = high - low if high > low else span
    return low - max(0.24 * wide, WEEK_D), high + max(0.06 * wide, WEEK_D)


def _cumulative(axes: Axes, days: Floats) -> None:
    low, high = axes.get_xlim()
    known = np.sort(days[np.isfinite(days)])
    percent = 100 * np.arange(1, len(known) + 1) / len(days)
    x, y = (
        np.concatenate(([low], known, [high])),
        np.concatenate(([0], percent, percent[-1:] if len(percent) else [0])),
    )
    axes.step(x, y, where="post", color=BLUE, linewidth=2)
    axes.set_ylim(0, 106)
    axes.set_yticks([0, 10, 50, 80, 90, 100])
    axes.set_ylabel("finished by this day\n[% of trials]")


def _percentiles(upper: Axes, lower: Axes, framed: Framed) -> None:
    table = framed["percentiles"]
    left = upper.get_xlim()[0]
    columns = (day_numbers(table[c]) for c in ("finish", "finish_low", "finish_high"))
    bounded = table.loc[table["finish_low"].notna(), "percentile"].tolist()
    for name, day, low, high in zip(table["percentile"], *columns, strict=True):
        p = int(name.removeprefix("P")) / 100
        if np.isnan(day):
            upper.text(left, 100 * p + 1, f" {name}  beyond the horizon", va="bottom", path_effects=HALO)
            continue
        strong = p == 0.8
        if np.isfinite(low):
            end = high if np.isfinite(high) else upper.get_xlim()[1]
            width = 7 if strong else 4
            upper.plot([low, end], [100 * p] * 2, color=SKY, linewidth=width, solid_capstyle="butt")
        upper.hlines(100 * p, left, day, color=GREY, linewidth=0.8, linestyle=":")
        upper.plot(day, 100 * p, "o", color=BLACK, markersize=6 if strong else 4.5, zorder=5)
        weight = "bold" if strong else "normal"
        text = f" {name}  {day_text(day)}"
        upper.text(left, 100 * p + 1, text, va="bottom", fontweight=weight, path_effects=HALO)
        upper.vlines(day, 0, 100 * p, color=GREY, linewidth=0.8, linestyle=":")
        lower.axvline(day, color=GREY, linewidth=0.8, linestyle=":")
    if len(bounded) == len(table):
        note(upper, "bars: 95 % intervals of the percentiles")
    elif bounded:
        note(upper, f"bars: 95 % intervals where {framed.run.trials} trials allow one")
    else:
        note(upper, f"too few trials ({framed.run.trials}) for 95 % intervals")


def _histogram(axes: Axes, days: Floats, *, first: float) -> None:
    """Share of the trials that finish in each week; weeks begin on the weekday of the first day.

    In each day where all finish within three weeks.
    """
    known = days[np.isfinite(days)]
    width = WEEK_D if known.size and np.ptp(known) > 3 * WEEK_D else 1
    axes.set_ylabel(f"{'in each week' if width == WEEK_D else 'on each day'}\n[% of trials]")
    if not known.size:
        axes.set_ylim(0, 1)
        return
    bins = np.floor((known - first) / width).astype(np.int64)
    counts = np.bincount(bins - bins.min())
    at = first + width * (bins.min() + np.arange(len(counts)))
    axes.bar(at, 100 * counts / len(days), width=width, align="edge", color=SKY, edgecolor="white")
    axes.margins(y=0.08)


def _contracts(upper: Axes, lower: Axes, framed: Framed) -> None:
    low, high = upper.get_xlim()
    for k, due in enumerate(dues(framed, FINISH)):
        day = due.day
        interval = f"{share(due.low)} to {share(due.high)}"
        text = f"{words(due.name)}\n{day_text(day)}\nmet in {share(due.chance)} ({interval})"
        outside = day < low or day > high
        for axes in (upper, lower) if not outside else ():
            axes.axvline(day, color=RED, linewidth=1.5, linestyle="--", zorder=1)
        text = f"{text}\n{'later' if day > high else 'earlier'} than shown" if outside else text
        side, top = _room(100 * due.chance, (day - low) / (high - low))
        upper.annotate(
            text,
            (min(max(day, low), high), 26 + (top - 26 - 26 * k) % 75),
            xytext=(5 if side == "left" else -5, 0),
            textcoords="offset points",
            ha=side,
            va="top",
            color=RED,
            fontsize=9.5,
            path_effects=HALO,
        )


def _room(percent: float, across: float) -> tuple[str, float]:
    """Alignment and top of the words at a contract date: right below the curve, or left above it. [-, %]

    percent : where the date meets the curve. across : place of the date between the sides. [%, -]
    """
    if percent >= 30 and across < 0.72:
        return "left", min(percent - 4, 74)
    if percent >= 30:
        return "right", 40
    return ("right" if across > 0.5 else "left"), 78


def _unfinished(axes: Axes, framed: Framed, days: Floats) -> None:
    """Trials beyond the horizon are said, as no bar can show them."""
    missing = int(np.isnan(days).sum())
    if missing:
        last = day_text(day_number(framed.run.last))
        text = f"{missing} of {len(days)} trials are not finished by {last}, where the clock ends"
        axes.set_title(text, loc="right", fontsize=10, color=RED)
