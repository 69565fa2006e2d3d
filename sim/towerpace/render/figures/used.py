"""Figures of how busy the resources are and where the panels stand, by name."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from matplotlib.colors import LinearSegmentedColormap
from matplotlib.figure import Figure

from towerpace.answers.said.people import words
from towerpace.render.figures.style import (
    BLACK,
    BLUE,
    ORANGE,
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
    from pandas import DataFrame

_HELD = LinearSegmentedColormap.from_list("held", ["#FFFFFF", "#444444"])
_PLACES = {
    "made": "made, not on site",
    "yard": "on site, not on their level",
    "floors": "on their level, not set",
    "holes": "lost, not set again",
}


def use_figure(framed: Framed) -> Figure:
    """A strip a resource, the darker the more of it is held in a week; a dot where it is waited for most."""
    weeks, scarce = framed["by_week"], framed["scarce"]
    names = list(dict.fromkeys(weeks["resource"].tolist()))
    ends = np.unique(day_numbers(weeks["week_end"]))
    held = weeks["utilisation"].to_numpy(float).reshape(len(names), len(ends))
    figure = new_figure(framed, title=_title(scarce), height_in=1.8 + 0.36 * len(names))
    axes = figure.subplots()
    edges = np.append(day_number(framed.run.start), ends)
    mesh = axes.pcolormesh(
        edges, np.arange(len(names) + 1), np.ma.masked_invalid(held), cmap=_HELD, vmin=0, vmax=1
    )
    _dots(axes, scarce, names=names)
    axes.set_yticks(np.arange(len(names)) + 0.5, [words(name) for name in names])
    axes.hlines(np.arange(1, len(names)), edges[0], edges[-1], color="white", linewidth=3)
    axes.tick_params(axis="y", length=0)
    axes.set_ylim(len(names), 0)
    date_axis(axes, low=edges[0], high=edges[-1])
    axes.grid(visible=False, axis="x")
    bar = figure.colorbar(mesh, ax=axes, shrink=min(1.0, 3.0 / len(names) + 0.3), aspect=18, pad=0.02)
    bar.set_ticks([0, 0.5, 1], labels=["none", "half", "all"])
    bar.set_label("of its unit-hours held for work")
    note(axes, "dot: waited for most in that week")
    return figure


def _dots(axes: Axes, scarce: DataFrame, *, names: list[str]) -> None:
    known = scarce[scarce["resource"].fillna("") != ""]
    middle = day_numbers(known["week_end"]) - 3.0
    rows = [names.index(name) + 0.5 for name in known["resource"]]
    axes.scatter(middle, rows, s=16, color=ORANGE, edgecolor=BLACK, linewidth=0.6, zorder=3)


def _title(scarce: DataFrame) -> str:
    names = [name for name in scarce["resource"].fillna("") if name]
    if not names:
        return "Nobody waits half an hour for a resource in any week"
    most = max(dict.fromkeys(names), key=names.count)
    return f"{words(most).capitalize()} is waited for most, in {names.count(most)} of {len(scarce)} weeks"


def stock_figure(framed: Framed) -> Figure:
    """Panels by where they stand at the end of each week: middle trial and the band of four in five."""
    table = framed["stock"]
    days = np.append(day_number(framed.run.start), day_numbers(table["week_end"]))
    shown = [place for place in _PLACES if table[f"{place}_p90"].to_numpy(float).any()]
    figure = new_figure(framed, title=_fullest(table), height_in=1.2 + 1.7 * max(len(shown), 1))
    panels = figure.subplots(max(len(shown), 1), 1, sharex=True, squeeze=False)[:, 0]
    for axes, place in zip(panels, shown, strict=False):
        low, middle, high = (
            np.append(np.nan, table[f"{place}_{p}"].to_numpy(float)) for p in ("p10", "p50", "p90")
        )
        _band(axes, days, (low, middle, high))
        axes.set_title(_PLACES[place], loc="left", fontsize=10)
        axes.set_ylim(0, 1.15 * float(np.nanmax(high)))
        axes.set_ylabel("panels")
        axes.grid(axis="y")
        date_axis(axes, low=days[0], high=days[-1])
    note(panels[0], "line: median; shaded: four in five trials")
    return figure


def _band(axes: Axes, days: Floats, curves: tuple[Floats, Floats, Floats]) -> None:
    low, middle, high = curves
    axes.fill_between(days, low, high, color=SKY, alpha=0.45, linewidth=0)
    axes.plot(days, middle, color=BLUE, linewidth=2)


def _fullest(table: DataFrame) -> str:
    week = int(table["floors_p50"].to_numpy(float).argmax())
    when = day_text(float(day_numbers(table["week_end"])[week]))
    holes = int(table["holes_p90"].max())
    at_most = f"; one trial in ten has {holes} holes open at once or more" if holes else ""
    return f"Most panels wait on the floors in the week to {when}: {table['floors_p50'][week]:.0f}{at_most}"


FIGURES = {"use": use_figure, "stock": stock_figure}
