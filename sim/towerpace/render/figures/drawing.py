"""Every figure by the question and the name under which its answer lists it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from importlib import import_module
from pathlib import Path

from matplotlib.figure import Figure

from towerpace.render.figures.style import look, new_sheet, write_figure
from towerpace.render.frames import Framed
from towerpace.trials.copies import share_out
from towerpace.trials.team import cores

# The type of a figure goes along: floors above name it, and leave matplotlib to this one.
__all__ = ["Figure", "about_figure", "draw", "get_ready", "write_figures"]

Figures = Mapping[str, Callable[[Framed], Figure]]
# Modules with the name FIGURES; a question without one has no figures.
_ROOMS = {
    "forecast": "forecast",
    "bid": "bid",
    "compare": "compared",
    "add": "added",
    "choose": "trade_off",
    "explain": "explained",
    "use": "used",
    "baseline": "floats",
    "update": "updated",
    "score": "scored",
    "delay": "delayed",
    "know": "known",
    "rates": "learned",
}


def _figures(question: str) -> Figures:
    figures: Figures = import_module(f"towerpace.render.figures.{_ROOMS[question]}").FIGURES
    return figures


def draw(name: str, framed: Framed) -> Figure:
    """One figure of an answer.

    Raises `KeyError` for a name that the question has no figure of.
    """
    with look():
        return _figures(framed.answer.question)[name](framed)


def about_figure(name: str, framed: Framed) -> str:
    """What a figure shows, for those who cannot see it: the first line of what draws it."""
    said = (_figures(framed.answer.question)[name].__doc__ or "").strip().splitlines()
    return said[0] if said else ""


def get_ready() -> None:
    """Find the letters and read the styles: what the first figure of a process does besides."""
    with look():
        blank = new_sheet(title="0", run="", height_in=1.0)
        blank.subplots()
        blank.draw_without_rendering()


def write_figures(framed: Framed, folder: Path) -> None:
    """Every figure that the answer lists, as PNG and SVG, side by side on the cores that there are."""

    def write(name: str) -> None:
        with look():
            write_figure(draw(name, framed), folder / name, run=framed.run)

    share_out(write, framed.answer.figures, workers=cores())
