"""Figures of a comparison by name, and the finish curves of its set-ups laid over each other."""

from __future__ import annotations

from dataclasses import dataclass
from textwrap import fill
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from towerpace.answers.said.people import words
from towerpace.render.figures.compared_cost import cost_figure
from towerpace.render.figures.compared_gain import paired_figure
from towerpace.render.figures.marks import FINISH, Due, dues, with_near
from towerpace.render.figures.style import (
    BLACK,
    BLUE,
    GREEN,
    GREY,
    HALO,
    ORANGE,
    PINK,
    RED,
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

MOST = 6  # curves that can be told apart
_LOOKS = (
    (BLACK, "-", 2.4),
    (BLUE, "--", 2.0),
    (RED, "-.", 2.0),
    (GREEN, (0, (1, 1)), 2.2),
    (ORANGE, (0, (6, 1)), 2.0),
    (PINK, (0, (4, 1, 1, 1, 1, 1)), 2.0),
)
LETTERS = 26  # of a line of a name


@dataclass(frozen=True)
class Curve:
    """A set-up: its known finishes in order, and the trials in all. look : colour, dashes, width."""

    name: str
    days: Floats
    trials: int
    p80: float
    look: tuple[str, object, float]

    @property
    def end(self) -> float:
        """The last known finish. [d]"""
        return float(self.days[-1])


def finish_curves_figure(framed: Framed) -> Figure:
    """Share of the trials finished by each day, a curve a set-up, names beside."""
    curves, left_out = _curves(framed)
    shown = [curve for curve in curves if curve.days.size]
    figure = new_figure(framed, title=_title(framed), height_in=5.4)
    axes = figure.subplots()
    due = _finish_dues(framed)
    low, high = _reach(framed, shown, due)
    date_axis(axes, low=low, high=high)
    for curve in curves:
        _draw(axes, curve)
    axes.set_ylim(0, 104)
    _names(axes, sorted(shown, key=_earliest_first))
    axes.set_yticks([0, 20, 50, 80, 100])
    axes.axhline(80, color=GREY, linewidth=0.8, linestyle=":")
    axes.set_ylabel("finished by this day [% of trials]")
    for k, contract in enumerate(due):
        _contract(axes, contract, row=k)
    never = [words(curve.name) for curve in curves if not curve.days.size]
    said = [f"no trial of {', '.join(never)} finishes"] * bool(never)
    said += [f"base and the {MOST - 1} earliest at P80; {left_out} more in setups.csv"] * bool(left_out)
    note(axes, "; ".join(said) or "all set-ups under the same draws")
    return figure


def _curves(framed: Framed) -> tuple[list[Curve], int]:
    """The base and the earliest at P80, and how many are left out."""
    setups, paired = framed["setups"], framed["paired"]
    p80 = dict(zip(setups["setup"].tolist(), day_numbers(setups["p80"]).tolist(), strict=True))
    names = setups["setup"].tolist()
    order = sorted(names[1:], key=lambda name: np.inf if np.isnan(p80[name]) else p80[name])
    kept = [name for name in names if name in (names[0], *order[: MOST - 1])]
    curves = []
    for name, style in zip(kept, _LOOKS, strict=False):
        days = day_numbers(paired.loc[paired["setup"] == name, "finish"])
        curves.append(Curve(name, np.sort(days[np.isfinite(days)]), len(days), p80[name], style))
    return curves, len(names) - len(kept)


def _title(framed: Framed) -> str:
    table = framed["setups"]
    days = day_numbers(table["p80"])
    names = [f"'{words(name)}'" for name in table["setup"]]
    if np.isnan(days).all():
        return "Fewer than four in five trials of any set-up finish before the clock ends"
    best = int(np.nanargmin(days))
    first = f"Four in five trials finish by {day_text(days[best])} with {names[best]}"
    if best == 0:
        return f"Four in five trials of the base finish by {day_text(days[0])}; no set-up is earlier"
    late = "not before the clock ends" if np.isnan(days[0]) else f"by {day_text(days[0])}"
    return f"{first}, {late} with the base" if days[best] != days[0] else f"{first}, as with the base"


def _finish_dues(framed: Framed) -> list[Due]:
    """Contract dates of the finish with the chance of the base."""
    table = framed["contracts"]
    base = table[table["setup"] == framed["setups"]["setup"].iloc[0]]
    return dues({"contracts": base}, FINISH)


def _reach(framed: Framed, curves: list[Curve], due: list[Due]) -> tuple[float, float]:
    days = [curve.days for curve in curves] or [np.array([day_number(framed.run.last)])]
    low, high = with_near(np.concatenate(days), due)
    span = max(high - low, 7.0)
    return low - 0.05 * span, high + 0.05 * span


def _draw(axes: Axes, curve: Curve) -> None:
    if not curve.days.size:
        return
    low, high = axes.get_xlim()
    share = 100 * np.arange(1, len(curve.days) + 1) / curve.trials
    x = np.concatenate(([low], curve.days, [high if share[-1] < 100 else curve.end]))
    colour, dashes, width = curve.look
    y = np.concatenate(([0], share, share[-1:]))
    axes.step(x, y, where="post", color=colour, linewidth=width, linestyle=dashes)
    if np.isfinite(curve.p80):
        axes.plot(curve.p80, 80, "o", color=colour, markersize=5, zorder=5)


def _names(axes: Axes, curves: list[Curve]) -> None:
    """Names beside the axes with a piece of their line, the earliest on top: curves lie too close."""
    lines = [
        Line2D([], [], color=colour, linestyle=dashes, linewidth=width)  # type: ignore[arg-type]  # dashes
        for colour, dashes, width in (curve.look for curve in curves)
    ]
    axes.legend(
        lines,
        [_label(curve) for curve in curves],
        loc="upper left",
        bbox_to_anchor=(1.0, 1.0),
        handlelength=3.2,
        labelspacing=0.9,
    )


def _earliest_first(curve: Curve) -> tuple[float, float]:
    return (np.inf if np.isnan(curve.p80) else curve.p80), curve.end


def _label(curve: Curve) -> str:
    return (
        f"{fill(words(curve.name), LETTERS)}:\nP80 {'beyond' if np.isnan(curve.p80) else day_text(curve.p80)}"
    )


def _contract(axes: Axes, due: Due, *, row: int) -> None:
    low, high = axes.get_xlim()
    if not low <= due.day <= high:
        return
    axes.vlines(due.day, 0, 100, color=GREY, linewidth=1.2, linestyle="--", zorder=1)
    right = due.day < low + 0.75 * (high - low)
    axes.annotate(
        f"{words(due.name)}\n{day_text(due.day)}",
        (due.day, 16 + 14 * row),
        xytext=(4 if right else -4, 0),
        textcoords="offset points",
        ha="left" if right else "right",
        color=GREY,
        fontsize=9,
        path_effects=HALO,
    )


FIGURES = {
    "finish_curves": finish_curves_figure,
    "paired_differences": paired_figure,
    "cost_against_p80": cost_figure,
}
