"""Pairs of factors: whether the effect of one depends on the value of the other."""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.figure import Figure

from towerpace.answers.said.people import words
from towerpace.answers.sweep.effects import effects
from towerpace.render.figures.study_effects import places_of
from towerpace.render.figures.style import BLACK, BLUE, GREEN, ORANGE, PINK, RED, SKY, study_figure
from towerpace.render.saved.study import SavedStudy

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from pandas import DataFrame

ACROSS = 2
MOST_PAIRS = 6
LINES = [
    (BLUE, "-", "o"),
    (RED, "--", "s"),
    (GREEN, "-.", "^"),
    (ORANGE, ":", "D"),
    (PINK, "-", "v"),
    (BLACK, "--", "x"),
    (SKY, "-.", "P"),
]


def pairs_figure(saved: SavedStudy, response: str) -> Figure:
    """One panel a pair of factors: along one of them, a line for each value of the other."""
    pairs = list(combinations(saved.factors, 2))[:MOST_PAIRS]
    values = {name: len(saved.frame.groupby(name)) for name in saved.factors}
    across = min(ACROSS, len(pairs))
    rows = -(-len(pairs) // across)
    title = f"{response} for pairs of factors: parallel lines mean that neither depends on the other"
    figure = study_figure(saved, title=title, height_in=1.2 + 3.8 * rows)
    panels = figure.subplots(rows, across, sharey=True, squeeze=False)
    for axes, (one, other) in zip(panels.flat, pairs, strict=False):
        # The factor with fewer values gives the lines.
        few, many = sorted((other, one), key=lambda name: values[name])
        table = effects(saved.frame, response, factors=[many, few])
        _panel(axes, saved, table, along=many, lines=few)
    for axes in panels.flat[len(pairs) :]:
        axes.set_axis_off()
    for row in panels:
        row[0].set_ylabel(saved.response_axis(response))
    return figure


def _panel(axes: Axes, saved: SavedStudy, table: DataFrame, *, along: str, lines: str) -> None:
    values = list(dict.fromkeys(table[along].tolist()))
    place = dict(zip(values, places_of(axes, values), strict=True))
    levels = list(dict.fromkeys(table[lines].tolist()))
    # Beyond what can be told apart: some of the lines, evenly, first and last among them.
    shown = [levels[k] for k in np.unique(np.linspace(0, len(levels) - 1, len(LINES)).astype(int))]
    shift = 0.012 * (max(place.values()) - min(place.values()) or 1.0)
    for k, (level, (colour, style, marker)) in enumerate(zip(shown, LINES, strict=False)):
        rows = table[table[lines] == level]
        x = np.array([place[v] for v in rows[along]]) + shift * (k - (len(shown) - 1) / 2)
        value, low, high = (rows[key].to_numpy(dtype=float) for key in ("value", "low", "high"))
        known = np.isfinite(low) & np.isfinite(high)
        bars = np.abs(np.vstack((value - low, high - value)))[:, known]
        text = f"{level:g}" if isinstance(level, float) else words(str(level))
        axes.plot(x, value, linestyle=style, marker=marker, color=colour, markersize=4.5, label=text)
        axes.errorbar(x[known], value[known], yerr=bars, fmt="none", ecolor=colour, capsize=3, alpha=0.7)
    axes.set_xlabel(saved.axis(along))
    axes.legend(title=saved.axis(lines), title_fontsize=9.5)
    axes.grid(axis="y")
