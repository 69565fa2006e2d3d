"""How the P50 of the finish moved from period to period, step by step."""

from __future__ import annotations

from textwrap import shorten
from typing import NamedTuple

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from pandas import DataFrame

from towerpace.answers.delay.periods import UNEXPLAINED, WORK
from towerpace.answers.said.people import number
from towerpace.render.figures.style import (
    BLACK,
    BLUE,
    GREY,
    HALO,
    ORANGE,
    PALE,
    date_axis,
    day_numbers,
    day_text,
    new_figure,
    note,
)
from towerpace.render.frames import Framed

LETTERS = 38
MOST = 24  # steps; of more the last ones are drawn


class Step(NamedTuple):
    """A bar: its name, where the P50 stood before it and after it, and its colour."""

    name: str
    before: float
    after: float
    colour: str


def moves_figure(framed: Framed) -> Figure:
    """Steps from the first P50 to the last: what the record brought, each event, what is unexplained."""
    steps = _steps(framed)[-MOST:]
    figure = new_figure(
        framed, title=_title(framed), height_in=float(np.clip(1.9 + 0.33 * len(steps), 3, 10))
    )
    axes = figure.subplots()
    for place, step in enumerate(steps):
        _bar(axes, place, step)
    axes.set_yticks(range(len(steps)), [step.name for step in steps])
    axes.set_ylim(len(steps) - 0.4, -0.6)
    axes.tick_params(axis="y", length=0)
    stood = [minute for step in steps for minute in (step.before, step.after)]
    reach = max(max(stood) - min(stood), 7.0)
    date_axis(axes, low=min(stood) - 0.12 * reach, high=max(stood) + 0.12 * reach)
    note(axes, "bars: by how much the P50 of the finish moved; black: where it stood at a data date")
    return figure


def _title(framed: Framed) -> str:
    rows = framed["periods"]
    first, last = (day_numbers(rows[name])[k] for name, k in (("before", 0), ("after", -1)))
    if not (np.isfinite(first) and np.isfinite(last)):
        return "How the P50 of the finish moved, period by period"
    days, later = abs(last - first), "later" if last >= first else "earlier"
    return f"The P50 of the finish moved from {day_text(first)} to {day_text(last)}, {days:.0f} days {later}"


def _steps(framed: Framed) -> list[Step]:
    periods, parts = framed["periods"], framed["parts"]
    before, after = (day_numbers(periods[name]) for name in ("before", "after"))
    ends = day_numbers(periods["until"])
    steps = [Step("start", before[0], before[0], BLACK)] if np.isfinite(before[0]) else []
    of_day = day_numbers(parts["until"])
    for end, since, until in zip(ends.tolist(), before.tolist(), after.tolist(), strict=True):
        if np.isfinite(since) and np.isfinite(until):
            steps += _within(parts[of_day == end], since)
        if np.isfinite(until):
            steps.append(Step(f"as of {day_text(end)}", until, until, BLACK))
    return steps


def _within(parts: DataFrame, stood: float) -> list[Step]:
    steps = []
    for name, days in zip(parts["part"], parts["moved_days"], strict=True):
        colour = {WORK: BLUE, UNEXPLAINED: GREY}.get(str(name), ORANGE)
        steps.append(Step(shorten(str(name), LETTERS), stood, stood + float(days), colour))
        stood += float(days)
    return steps


def _bar(axes: Axes, place: int, step: Step) -> None:
    if step.before == step.after and step.colour == BLACK:
        axes.plot(step.after, place, "o", color=BLACK, markersize=6, zorder=3)
        axes.axvline(step.after, color=PALE, linewidth=0.8, zorder=0)
        return
    low, high = sorted((step.before, step.after))
    axes.barh(place, high - low, left=low, height=0.55, color=step.colour, zorder=2)
    text = f"{number(step.after - step.before, digits=1, signed=True)} d"
    axes.annotate(
        text,
        (high, place),
        xytext=(4, 0),
        textcoords="offset points",
        va="center",
        fontsize=9,
        path_effects=HALO,
    )
