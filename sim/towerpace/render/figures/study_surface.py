"""Response surface: a response over two factors as lines of equal value, with a cut along each."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.colors import LinearSegmentedColormap
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator
from numpy.typing import ArrayLike

from towerpace.render.figures.study_slice import Slice, slice_of
from towerpace.render.figures.style import BLACK, BLUE, GREY, HALO, RED, note, study_figure
from towerpace.render.saved.study import SavedStudy
from towerpace.units import Floats

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.axis import Axis

FINE = 161  # places along a factor
LINES = 7
_SHADES = LinearSegmentedColormap.from_list("shades", ["#FFFFFF", "#BFD9EC"])
_CUTS = ((RED, "--"), (BLUE, "-."))
_ROOM = 0.05  # of a range, around the outermost points


def surface_figure(saved: SavedStudy, response: str, *, factors: Sequence[str] | None = None) -> Figure:
    """The surface over two factors, and a cut along each; of a study of one factor, the cut alone.

    factors : two of the study; by default those with the largest shares of the fitted variation.

    Raises
    ------
    ValueError
        If there is no metamodel that may be shown, saying why, or the factors are not two of it.
    """
    shown = slice_of(saved, response, factors=factors)
    single = len(shown.shown) == 1
    figure = study_figure(saved, title=shown.title(), height_in=5.4 if single else 6.2)
    below = f"{shown.caption()}\n{figure.get_supxlabel()}"
    figure.supxlabel(below, x=0.988, ha="right", fontsize=8.5, color=GREY)
    if single:
        axes = figure.subplots()
        _cut(axes, shown, along=shown.shown[0], style=_CUTS[0])
        axes.set_ylabel(saved.response_axis(response))
        note(axes, "mean with 95 % band; points with theirs")
        return figure
    grid = figure.add_gridspec(2, 2, width_ratios=(1.35, 1))
    _plane(figure.add_subplot(grid[:, 0]), shown)
    above = figure.add_subplot(grid[0, 1])
    for axes, along, style in zip(
        (above, figure.add_subplot(grid[1, 1], sharey=above)), shown.shown, _CUTS, strict=True
    ):
        _cut(axes, shown, along=along, style=style)
        axes.set_ylabel(shown.unit.strip())
    note(above, "mean with 95 % band; points near the cut")
    return figure


def _plane(axes: Axes, shown: Slice) -> None:
    """Lines of equal value where there are points nearby, and the points."""
    across, up = shown.shown
    x, y, values = surface(shown)
    levels = MaxNLocator(LINES).tick_values(values.min(), values.max())
    axes.contourf(x, y, values, levels=levels, cmap=_SHADES, zorder=0)
    lines = axes.contour(x, y, values, levels=levels, colors=GREY, linewidths=1.2, zorder=1)
    for text in axes.clabel(lines, fontsize=10, fmt="%g", colors=BLACK):
        text.set_path_effects([*HALO])
    axes.axhline(shown.middle[up], color=_CUTS[0][0], linestyle=_CUTS[0][1], linewidth=1.5, zorder=2)
    axes.axvline(shown.middle[across], color=_CUTS[1][0], linestyle=_CUTS[1][1], linewidth=1.5, zorder=2)
    rows = shown.points
    known = rows["value"].notna()
    axes.plot(rows[across][known], rows[up][known], "o", color=BLACK, markersize=3.5, zorder=3)
    axes.plot(rows[across][~known], rows[up][~known], "x", color=BLACK, markersize=6, zorder=3)
    _along(axes.xaxis, shown, across)
    _along(axes.yaxis, shown, up)
    note(axes, f"{shown.saved.response_axis(shown.model.response)}; dots: points")


def surface(shown: Slice) -> tuple[Floats, Floats, np.ma.MaskedArray[Any, Any]]:
    """Both factors and the response on a fine grid, blank where it would be extrapolation."""
    x, y = np.meshgrid(*(np.linspace(*shown.range(name), FINE) for name in shown.shown))
    places: dict[str, ArrayLike] = {**shown.middle, shown.shown[0]: x.ravel(), shown.shown[1]: y.ravel()}
    return x, y, np.ma.masked_invalid(_known(shown, places)[0].reshape(x.shape))


def _known(shown: Slice, places: Mapping[str, ArrayLike]) -> tuple[Floats, Floats, Floats]:
    """Mean and interval at places in a row; nan where there are no points nearby."""
    inside = shown.model.inside(places)
    prediction = shown.model.predict(
        {name: np.broadcast_to(value, inside.shape)[inside] for name, value in places.items()}
    )
    three = []
    for values in (prediction.mean, prediction.low, prediction.high):
        three.append(np.full(inside.shape, np.nan))
        three[-1][inside] = values
    return three[0], three[1], three[2]


def _cut(axes: Axes, shown: Slice, *, along: str, style: tuple[str, str]) -> None:
    """One factor with all others at their middle, and the points close to that."""
    x = np.linspace(*shown.range(along), FINE)
    mean, low, high = _known(shown, {**shown.middle, along: x})
    rows = shown.near(along)
    value, below, above = (rows[name].to_numpy(dtype=float) for name in ("value", "low", "high"))
    axes.fill_between(x, low, high, color=style[0], alpha=0.25, linewidth=0, zorder=1)
    axes.plot(x, mean, linestyle=style[1], color=style[0], linewidth=1.8, zorder=2)
    bars = np.nan_to_num(np.vstack((value - below, above - value)))
    axes.errorbar(
        rows[along],
        value,
        yerr=bars,
        fmt="o",
        color=BLACK,
        ecolor=GREY,
        markersize=4,
        elinewidth=0.8,
        zorder=3,
    )
    _along(axes.xaxis, shown, along)
    axes.grid(axis="y")


def _along(axis: Axis, shown: Slice, name: str) -> None:
    """A factor along an axis, with a little room around the outermost points."""
    low, high = shown.range(name)
    room = _ROOM * (high - low)
    axis.set_view_interval(low - room, high + room, ignore=True)
    if shown.model.whole[shown.model.factors.index(name)]:
        axis.set_major_locator(MaxNLocator(integer=True))
    axis.set_label_text(shown.saved.axis(name))
