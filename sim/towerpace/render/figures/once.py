"""When what happens once is done: P50 and P80 of every activity, the earliest on top."""

from __future__ import annotations

import numpy as np
from matplotlib.figure import Figure

from towerpace.answers.said.people import words
from towerpace.render.figures.style import (
    BLACK,
    BLUE,
    HALO,
    date_axis,
    day_number,
    day_numbers,
    day_text,
    new_figure,
    note,
)
from towerpace.render.frames import Framed

_ROOM = 0.22  # of the width, for a date in words


def once_figure(framed: Framed) -> Figure:
    """A dot where half of the trials have done it, a ring where four in five have."""
    table = framed["activities"]
    half, late = day_numbers(table["p50"]), day_numbers(table["p80"])
    names = [words(name) for name in table["activity"]]
    figure = new_figure(framed, title=_title(names, half), height_in=1.8 + 0.34 * len(names))
    axes = figure.subplots()
    rows = np.arange(len(names))
    axes.hlines(rows, half, late, color=BLUE, linewidth=1.6)
    axes.plot(half, rows, "o", color=BLUE, markersize=7)
    axes.plot(late, rows, "o", color=BLUE, markersize=8, markerfacecolor="white", markeredgewidth=1.6)
    for row, day in zip(rows.tolist(), np.where(np.isnan(late), half, late).tolist(), strict=True):
        if not np.isnan(day):
            axes.annotate(
                day_text(day),
                (day, row),
                xytext=(9, 0),
                textcoords="offset points",
                va="center",
                color=BLACK,
                path_effects=HALO,
            )
    axes.set_yticks(rows, names)
    axes.tick_params(axis="y", length=0)
    axes.set_ylim(len(names) - 0.4, -0.6)
    known = np.concatenate((half, late, [day_number(framed.run.start)]))
    low, high = float(np.nanmin(known)), float(np.nanmax(known))
    date_axis(axes, low=low, high=high + _ROOM * (high - low))
    note(axes, "dot: done in half of the trials; ring, with its date: in four of five")
    return figure


def _title(names: list[str], half: np.ndarray[tuple[int], np.dtype[np.float64]]) -> str:
    if np.isnan(half).all():
        return "Nothing that happens once is done in half of the trials before the clock ends"
    last = int(np.nanargmax(half))
    when = day_text(float(half[last]))
    return f"Last of what happens once: {names[last]}, done by {when} in half of the trials"
