"""Figures of a comparison by name, and the finish curves of its set-ups laid over each other."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.figure import Figure
from numpy.typing import NDArray

from towerpace.render.figures.compared_gain import cost_figure, paired_figure
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
    look,
    new_figure,
    note,
    write_figure,
)
from towerpace.render.saved.forecast import Saved
from towerpace.render.tables.words import words

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Numbers = NDArray[np.float64]
MOST = 6  # curves that can be told apart
_LOOKS = (
    (BLACK, "-", 2.4),
    (BLUE, "--", 2.0),
    (RED, "-.", 2.0),
    (GREEN, (0, (1, 1)), 2.2),
    (ORANGE, (0, (6, 1)), 2.0),
    (PINK, (0, (4, 1, 1, 1, 1, 1)), 2.0),
)
ROW = 7.5  # height of a name, on the axis of shares


@dataclass(frozen=True)
class Curve:
    """A set-up: its known finishes in order, and the trials in all. look : colour, dashes, width."""

    name: str
    days: Numbers
    trials: int
    p80: float
    look: tuple[str, object, float]

    @property
    def end(self) -> float:
        """The last known finish. [d]"""
        return float(self.days[-1])


def finish_curves_figure(saved: Saved) -> Figure:
    """Share of the trials finished by each day, a curve a set-up, its name at its upper end."""
    curves, left_out = _curves(saved)
    shown = [curve for curve in curves if curve.days.size]
    figure = new_figure(saved, title=_title(saved), height_in=5.2 + 0.16 * len(curves))
    axes = figure.subplots()
    due = _finish_dues(saved)
    low, high = _reach(saved, shown, due)
    date_axis(axes, low=low, high=high)
    for curve in curves:
        _draw(axes, curve)
    _names(axes, sorted(shown, key=lambda curve: curve.end), due=len(due))
    axes.set_yticks([0, 20, 50, 80, 100])
    axes.axhline(80, color=GREY, linewidth=0.8, linestyle=":")
    axes.set_ylabel("finished by this day [% of trials]")
    for k, one in enumerate(due):
        _contract(axes, one, row=k)
    never = [words(curve.name) for curve in curves if not curve.days.size]
    said = [f"no trial of {', '.join(never)} finishes"] * bool(never)
    said += [f"base and the {MOST - 1} earliest at P80; {left_out} more in setups.csv"] * bool(left_out)
    note(axes, "; ".join(said) or "all set-ups under the same draws")
    return figure


def _curves(saved: Saved) -> tuple[list[Curve], int]:
    """The base and the earliest at P80, and how many are left out."""
    setups, paired = saved.tables["setups"], saved.tables["paired"]
    p80 = dict(zip(setups["setup"].tolist(), day_numbers(setups["p80_date"]).tolist(), strict=True))
    names = setups["setup"].tolist()
    order = sorted(names[1:], key=lambda name: np.inf if np.isnan(p80[name]) else p80[name])
    kept = [name for name in names if name in (names[0], *order[: MOST - 1])]
    made = []
    for name, style in zip(kept, _LOOKS, strict=False):
        days = day_numbers(paired.loc[paired["setup"] == name, "finish_date"])
        made.append(Curve(name, np.sort(days[np.isfinite(days)]), len(days), p80[name], style))
    return made, len(names) - len(kept)


def _title(saved: Saved) -> str:
    table = saved.tables["setups"]
    days = day_numbers(table["p80_date"])
    names = [f"'{words(name)}'" for name in table["setup"]]
    if np.isnan(days).all():
        return "Fewer than four in five trials of any set-up finish before the clock ends"
    best = int(np.nanargmin(days))
    first = f"Four in five trials finish by {day_text(days[best])} with {names[best]}"
    if best == 0:
        return f"Four in five trials of the base finish by {day_text(days[0])}; no set-up is earlier"
    late = "not before the clock ends" if np.isnan(days[0]) else f"by {day_text(days[0])}"
    return f"{first}, {late} with the base" if days[best] != days[0] else f"{first}, as with the base"


def _finish_dues(saved: Saved) -> list[Due]:
    """Contract dates of the finish with the chance of the base."""
    table = saved.tables["contracts"]
    base = table[table["setup"] == saved.tables["setups"]["setup"].iloc[0]]
    return dues(Saved({"contracts": base}, saved.manifest), FINISH)


def _reach(saved: Saved, curves: list[Curve], due: list[Due]) -> tuple[float, float]:
    days = [curve.days for curve in curves] or [np.array([day_number(saved.manifest.horizon_date)])]
    low, high = with_near(np.concatenate(days), due)
    span = max(high - low, 7.0)
    letters = max((len(_label(curve)) for curve in curves), default=0)
    return low - 0.05 * span, high + max(0.1, 0.0125 * letters) * span


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


def _names(axes: Axes, curves: list[Curve], *, due: int) -> None:
    """Names above the upper ends, the earliest on top, so that no leader crosses a name."""
    top = 100 + ROW * len(curves)
    for k, curve in enumerate(curves):
        colour, dashes, _ = curve.look
        ends = 100 * len(curve.days) / curve.trials
        place = 100 + ROW * (len(curves) - k)
        axes.plot([curve.end] * 2, [ends, place], color=colour, linewidth=1.0, linestyle=dashes)
        axes.text(curve.end, place, f" {_label(curve)}", va="center", path_effects=HALO, fontsize=9.5)
    axes.set_ylim(0, top + ROW + (ROW if due else 0))


def _label(curve: Curve) -> str:
    return f"{words(curve.name)}: P80 {'beyond' if np.isnan(curve.p80) else day_text(curve.p80)}"


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


COMPARED_FIGURES: dict[str, Callable[[Saved], Figure]] = {
    "finish_curves": finish_curves_figure,
    "paired_differences": paired_figure,
    "cost_against_p80": cost_figure,
}


def compared_figures_of(saved: Saved) -> list[str]:
    """Names of the figures that this comparison has: none of money where no costs are stated."""
    costs = saved.tables["setups"][["p80_date", "mean_cost"]].notna().all(axis=1).any()
    return [name for name in COMPARED_FIGURES if name != "cost_against_p80" or costs]


def draw_compared(name: str, saved: Saved) -> Figure:
    """One figure; raises `KeyError` for a name that is not in `COMPARED_FIGURES`."""
    with look():
        return COMPARED_FIGURES[name](saved)


def write_compared_figures(saved: Saved, folder: Path) -> None:
    """Every figure as PNG and SVG, named as in `COMPARED_FIGURES`."""
    for name in compared_figures_of(saved):
        with look():
            write_figure(draw_compared(name, saved), folder / name, saved=saved)
