"""What every addition alone gains, with what can be said of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from towerpace.answers.choice.add import BEYOND
from towerpace.answers.said.people import words
from towerpace.render.figures.style import BLACK, BLUE, GREY, HALO, new_figure, note
from towerpace.render.frames import Framed

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from pandas import DataFrame

KEYS = ("diff_days", "diff_days_low", "diff_days_high")


def gains_figure(framed: Framed) -> Figure:
    """A row an addition: mean difference of the finish with its interval, the verdict beside it."""
    ranking = framed["ranking"]
    height_in = float(np.clip(1.9 + 0.42 * len(ranking), 3.0, 12.0))
    figure = new_figure(framed, title=_title(ranking), height_in=height_in)
    axes = figure.subplots()
    axes.axvline(0, color=GREY, linewidth=1)
    values = ranking[[*KEYS]].to_numpy(float)
    for row, (mean, low, high) in enumerate(values):
        if np.isfinite(mean):
            axes.plot([low, high], [row] * 2, "|-", color=BLUE, linewidth=2.5, markersize=11, zorder=3)
            axes.plot(mean, row, "o", color=BLACK, markersize=4.5, zorder=4)
    _scale(axes, values)
    _words(axes, ranking)
    axes.set_xlabel("days of the finish, with the change less without\n(left of 0: earlier)")
    note(axes, "dot and bar: mean with 95 % interval")
    return figure


def _title(ranking: DataFrame) -> str:
    if ranking.empty:
        return "There is nothing that could be added or taken away"
    best = ranking.iloc[0]
    name = words(str(best["addition"]))
    mean, low, high = (float(best[key]) for key in KEYS)
    gain = "gain" if " each" in name or " and " in name else "gains"
    if mean < 0 and np.isnan(high):  # trials that all gain the same give no interval
        return f"{name} {gain} {-mean:.1f} days of the finish in every trial: {best['verdict']}"
    if not high < 0:
        return "No addition is shown to finish earlier"
    return f"{name} {gain} {-mean:.1f} days of the finish ({-high:.1f} to {-low:.1f}): {best['verdict']}"


def _scale(axes: Axes, values: np.ndarray) -> None:
    known = values[np.isfinite(values)]
    low, high = (min(0.0, float(known.min())), max(0.0, float(known.max()))) if known.size else (0.0, 0.0)
    span = high - low or 1.0
    axes.set_xlim(low - 0.08 * span, high + 0.08 * span)
    axes.xaxis.set_major_locator(MaxNLocator(6))
    axes.grid(axis="x")


def _words(axes: Axes, ranking: DataFrame) -> None:
    """Names to the left, verdicts to the right of the axes, where no bar can run into them."""
    axes.set_yticks(range(len(ranking)), [words(name) for name in ranking["addition"]])
    axes.set_ylim(len(ranking) - 0.4, -0.6)
    axes.tick_params(axis="y", length=0)
    unknown = ranking[KEYS[0]].isna()
    for row, verdict in enumerate(ranking["verdict"].tolist()):
        silent = unknown[row] and BEYOND not in verdict
        axes.annotate(
            f"{verdict}; no mean, as\n{BEYOND}" if silent else verdict,
            (1.0, row),
            xycoords=("axes fraction", "data"),
            xytext=(8, 0),
            textcoords="offset points",
            va="center",
            fontsize=9,
            path_effects=HALO,
        )


FIGURES = {"gains": gains_figure}
