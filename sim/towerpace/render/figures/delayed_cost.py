"""What each event cost the finish, trial by trial."""

from __future__ import annotations

from textwrap import shorten

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator
from pandas import DataFrame

from towerpace.answers.said.people import number
from towerpace.render.figures.style import BLACK, BLUE, GREY, HALO, SKY, new_figure, note
from towerpace.render.frames import Framed

LETTERS = 46  # of a row's name


def cost_figure(framed: Framed) -> Figure:
    """A row an event: days without the others, nine in ten trials, and its share of all together."""
    rows = framed["events"]
    height_in = float(np.clip(1.9 + 0.62 * len(rows), 2.8, 10))
    figure = new_figure(framed, title=_title(framed), height_in=height_in)
    axes = figure.subplots()
    axes.axvline(0, color=GREY, linewidth=1)
    _marks(axes, rows)
    names = [
        shorten(f"{event}: {what}", LETTERS) for event, what in zip(rows["event"], rows["what"], strict=True)
    ]
    axes.set_yticks(range(len(rows)), names)
    axes.set_ylim(len(rows) - 0.4, -0.7)
    axes.tick_params(axis="y", length=0)
    axes.grid(axis="x")
    axes.xaxis.set_major_locator(MaxNLocator(6))
    axes.set_xlabel("days by which the event made the finish later")
    note(axes, "dot: days it cost, mean; band: nine in ten trials; diamond: its share of all together")
    return figure


def _title(framed: Framed) -> str:
    return str(framed.answer.said).split(". ", maxsplit=1)[0]


def _marks(axes: Axes, rows: DataFrame) -> None:
    low, mean, high, share = (
        rows[name].to_numpy(dtype=float)
        for name in ("trials_days_low", "cost_days", "trials_days_high", "share_days")
    )
    places = np.arange(len(rows), dtype=float)
    axes.hlines(places, low, high, color=SKY, linewidth=9)
    axes.plot(mean, places, "o", color=BLUE, markersize=6, zorder=3)
    # A rim around the dot where both agree, and dark: in grey an orange one would be as light as the band.
    axes.plot(share, places, "D", color=BLACK, fillstyle="none", markersize=10, zorder=4)
    for place, days in zip(places.tolist(), mean.tolist(), strict=True):
        axes.text(
            days,
            place - 0.24,
            number(days, digits=1, signed=True),
            ha="center",
            va="bottom",
            fontsize=9,
            path_effects=HALO,
        )
    known = np.concatenate((low, high, share, [0.0]))
    known = known[np.isfinite(known)]
    reach = max(float(known.max() - known.min()), 1.0)
    axes.set_xlim(float(known.min()) - 0.06 * reach, float(known.max()) + 0.06 * reach)
