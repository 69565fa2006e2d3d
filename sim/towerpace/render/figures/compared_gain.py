"""What each set-up gains against the base, trial by trial."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from towerpace.answers.said.people import words
from towerpace.render.figures.style import BLACK, BLUE, GREY, HALO, PALE, new_figure, note
from towerpace.render.frames import Framed

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from pandas import DataFrame

_BEYOND = "some trials end beyond the horizon: no mean"


def paired_figure(framed: Framed) -> Figure:
    """A row a set-up: mean difference with its interval, single trials behind; days, and money beside."""
    table, unit = _rows(framed), _unit(framed)
    money = bool(table["diff_cost"].notna().any())
    figure = new_figure(
        framed, title=_title(table), height_in=float(np.clip(2.0 + 0.55 * len(table), 3.0, 10))
    )
    panels = figure.subplots(1, 2 if money else 1, sharey=True, squeeze=False)[0]
    _panel(panels[0], framed, table, keys=("diff_days", "diff_days_low", "diff_days_high"), unit="d")
    panels[0].set_xlabel("days of the finish, set-up less base\n(left of 0: earlier)")
    if money:
        _panel(panels[1], framed, table, keys=("diff_cost", "diff_cost_low", "diff_cost_high"), unit="")
        panels[1].set_xlabel(f"cost, set-up less base [{unit}]\n(left of 0: cheaper)")
    panels[0].set_yticks(range(len(table)), [words(name) for name in table["setup"]])
    panels[0].set_ylim(len(table) - 0.4, -0.6)
    note(panels[-1], "dot and bar: mean with 95 % interval; band: nine in ten single trials")
    return figure


def _rows(framed: Framed) -> DataFrame:
    """Set-ups without the base, the earliest first, unknown ones last."""
    table = framed["differences"].merge(framed["costs"], on="setup", how="left")
    return table.sort_values("diff_days", na_position="last", kind="stable").reset_index(drop=True)


def _unit(framed: Framed) -> str:
    """Of money."""
    return str(framed.answer.fact("unit") or "")


def _title(table: DataFrame) -> str:
    best = table.iloc[0]
    if np.isnan(best["diff_days"]):
        return "Some trials of every pair end beyond the horizon: no mean difference is known"
    name, days = f"'{words(str(best['setup']))}'", float(best["diff_days"])
    if best["diff_days_high"] < 0:
        low, high = sorted((-float(best["diff_days_low"]), -float(best["diff_days_high"])))
        return f"{name} finishes {-days:.1f} days earlier than the base ({low:.1f} to {high:.1f})"
    return "No set-up is shown to finish earlier than the base"


def _panel(axes: Axes, framed: Framed, table: DataFrame, *, keys: tuple[str, str, str], unit: str) -> None:
    paired = framed["paired"]
    axes.axvline(0, color=GREY, linewidth=1)
    reach = [0.0]
    for row, name in enumerate(table["setup"]):
        mean, low, high = (float(table[key].iloc[row]) for key in keys)
        if np.isnan(mean):
            axes.text(0, row, f" {_BEYOND}", va="center", fontsize=9, color=GREY, path_effects=HALO)
            continue
        single = paired.loc[paired["setup"] == name, keys[0]].to_numpy(float)
        band = np.quantile(single[np.isfinite(single)], (0.05, 0.95))
        axes.plot(band, [row] * 2, color=PALE, linewidth=11, solid_capstyle="butt", zorder=1)
        axes.plot([low, high], [row] * 2, "|-", color=BLUE, linewidth=2.5, markersize=13, zorder=3)
        axes.plot(mean, row, "o", color=BLACK, markersize=4.5, zorder=4)
        shown = [_signed(value, 1 if unit else 0) for value in (mean, low, high)]
        text = f"{shown[0]} ({shown[1]} to {shown[2]})"
        axes.text(mean, row - 0.22, text, ha="center", va="bottom", fontsize=9, path_effects=HALO, zorder=5)
        reach += [low, high, *band.tolist()]
    span = max(reach) - min(reach) or 1.0
    axes.set_xlim(min(reach) - 0.3 * span, max(reach) + 0.3 * span)
    axes.xaxis.set_major_locator(MaxNLocator(5))
    axes.xaxis.set_major_formatter(f"{{x:,.{0 if span > 10 else 1}f}}")
    axes.tick_params(axis="y", length=0)
    axes.grid(axis="x")


def _signed(value: float, digits: int) -> str:
    """A number with its sign; zero has none."""
    rounded = round(value, digits)
    return f"{rounded:+,.{digits}f}" if rounded else f"{0:.{digits}f}"
