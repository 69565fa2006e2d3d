"""All figures of a saved forecast by name."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from matplotlib.figure import Figure

from towerpace.render.figures.closing_in import closing_in_figure
from towerpace.render.figures.finish import finish_figure
from towerpace.render.figures.flow import flow_figure
from towerpace.render.figures.panels import panels_figure
from towerpace.render.figures.style import look, write_figure
from towerpace.render.figures.time import time_figure
from towerpace.render.saved.forecast import Saved

# The type of a figure goes along: floors above name it, and leave matplotlib to this one.
__all__ = ["FIGURES", "Figure", "draw", "figures_of", "write_figures"]

FIGURES: dict[str, Callable[[Saved], Figure]] = {
    "finish": finish_figure,
    "closing_in": closing_in_figure,
    "flow": flow_figure,
    "panels": panels_figure,
    "time": time_figure,
}
_NEEDS = {"closing_in": "closing_in", "panels": "s_curve"}


def figures_of(saved: Saved) -> list[str]:
    """Names of the figures that this forecast has: none of panels for a tower without them."""
    return [name for name in FIGURES if name not in _NEEDS or len(saved.tables[_NEEDS[name]])]


def draw(name: str, saved: Saved) -> Figure:
    """One figure.

    Raises `KeyError` for a name that is not in `FIGURES`.
    """
    with look():
        return FIGURES[name](saved)


def write_figures(saved: Saved, folder: Path) -> None:
    """Every figure as PNG and SVG, named as in `FIGURES`."""
    for name in figures_of(saved):
        with look():
            write_figure(FIGURES[name](saved), folder / name, saved=saved)
