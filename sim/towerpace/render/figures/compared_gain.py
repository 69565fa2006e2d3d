"""What each set-up gains against the base, trial by trial, and what its date costs."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator
from numpy.typing import NDArray

from towerpace.render.figures.style import (
    BLACK,
    BLUE,
    GREY,
    HALO,
    PALE,
    date_axis,
    day_numbers,
    day_text,
    new_figure,
    note,
)
from towerpace.render.saved.forecast import Saved
from towerpace.render.tables.words import words

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from pandas import DataFrame

Numbers = NDArray[np.float64]
_BEYOND = "some trials end beyond the horizon: no mean"


def paired_figure(saved: Saved) -> Figure:
    """A row a set-up: mean difference with its interval, single trials behind; days, and money beside."""
    table = _rows(saved)
    money = bool(table["diff_cost"].notna().any())
    figure = new_figure(
        saved, title=_title(table), height_in=float(np.clip(2.0 + 0.55 * len(table), 3.0, 10))
    )
    panels = figure.subplots(1, 2 if money else 1, sharey=True, squeeze=False)[0]
    _panel(panels[0], saved, table, keys=("diff_days", "diff_low", "diff_high"), unit="d")
    panels[0].set_xlabel("days of the finish, set-up less base\n(left of 0: earlier)")
    if money:
        _panel(panels[1], saved, table, keys=("diff_cost", "diff_cost_low", "diff_cost_high"), unit="")
        panels[1].set_xlabel(f"cost, set-up less base [{table['unit'].iloc[0]}]\n(left of 0: cheaper)")
    panels[0].set_yticks(range(len(table)), [words(name) for name in table["setup"]])
    panels[0].set_ylim(len(table) - 0.4, -0.6)
    note(panels[-1], "dot and bar: mean with 95 % interval; band: nine in ten single trials")
    return figure


def _rows(saved: Saved) -> DataFrame:
    """Set-ups without the base, the earliest first, unknown ones last."""
    table = saved.tables["setups"].iloc[1:]
    return table.sort_values("diff_days", na_position="last", kind="stable").reset_index(drop=True)


def _title(table: DataFrame) -> str:
    best = table.iloc[0]
    if np.isnan(best["diff_days"]):
        return "Some trials of every pair end beyond the horizon: no mean difference is known"
    name, days = f"'{words(str(best['setup']))}'", float(best["diff_days"])
    if best["diff_high"] < 0:
        low, high = sorted((-float(best["diff_low"]), -float(best["diff_high"])))
        return f"{name} finishes {-days:.1f} days earlier than the base ({low:.1f} to {high:.1f})"
    return "No set-up is shown to finish earlier than the base"


def _panel(axes: Axes, saved: Saved, table: DataFrame, *, keys: tuple[str, str, str], unit: str) -> None:
    paired = saved.tables["paired"]
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


def cost_figure(saved: Saved) -> Figure:
    """Mean cost against P80, a dot a set-up; a line joins those that no other beats in both."""
    table = saved.tables["setups"]
    days, cost = day_numbers(table["p80_date"]), table["mean_cost"].to_numpy(float)
    known = np.flatnonzero(np.isfinite(days) & np.isfinite(cost))
    names = [words(name) for name in table["setup"]]
    best = _unbeaten(days, cost, known)
    title = _cost_title([f"'{name}'" for name in names], days, cost, best)
    figure = new_figure(saved, title=title, height_in=5.4)
    axes = figure.subplots()
    span = max(float(np.ptp(days[known])), 7.0)
    date_axis(axes, low=float(days[known].min()) - 0.12 * span, high=float(days[known].max()) + 0.3 * span)
    axes.plot(days[best], cost[best], color=BLUE, linewidth=1.2, zorder=1)
    inside = np.isin(known, best)
    axes.plot(days[known[inside]], cost[known[inside]], "o", color=BLUE, markersize=8)
    axes.plot(days[known[~inside]], cost[known[~inside]], "o", color=GREY, markersize=7, fillstyle="none")
    axes.margins(y=0.14)
    _label_dots(axes, names, days, cost, known)
    axes.set_xlabel("P80 of the finish")
    axes.set_ylabel(f"mean cost of a trial [{table['unit'].iloc[0]}]")
    axes.yaxis.set_major_formatter("{x:,.0f}")
    axes.grid(axis="y")
    lacking = len(names) - len(known)
    more = f"; {lacking} without a known P80 or cost" if lacking else ""
    note(axes, f"full dots: no other set-up is both earlier and cheaper{more}")
    return figure


def _unbeaten(days: Numbers, cost: Numbers, known: NDArray[np.intp]) -> NDArray[np.intp]:
    """Set-ups that no other beats in date and cost, the earliest first."""
    kept: list[int] = []
    for k in sorted(known.tolist(), key=lambda k: (days[k], cost[k])):
        if not kept or cost[k] < cost[kept[-1]]:
            kept.append(k)
    return np.array(kept, dtype=np.intp)


def _cost_title(names: list[str], days: Numbers, cost: Numbers, best: NDArray[np.intp]) -> str:
    first, cheapest = int(best[0]), int(best[-1])
    if first == cheapest:
        return f"{names[first]} is both the earliest and the cheapest: P80 {day_text(days[first])}"
    later = days[cheapest] - days[first]
    more = cost[first] - cost[cheapest]
    return (
        f"{names[cheapest]} is the cheapest; {names[first]} finishes {later:.0f} days earlier "
        f"at P80 for {more:,.0f} more"
    )


def _label_dots(axes: Axes, names: list[str], days: Numbers, cost: Numbers, known: NDArray[np.intp]) -> None:
    """Names to the right of the dots; dots that lie on each other share a line."""
    low, high = axes.get_ylim()
    row = 0.035 * (high - low)
    left, right = axes.get_xlim()
    groups: list[list[int]] = []
    for k in sorted(known.tolist(), key=lambda k: (days[k], cost[k])):
        close = [
            g
            for g in groups
            if abs(days[g[0]] - days[k]) < 0.02 * (right - left) and abs(cost[g[0]] - cost[k]) < row
        ]
        if close:
            close[0].append(k)
        else:
            groups.append([k])
    for group in groups:
        text = ", ".join(names[k] for k in group)
        at = (days[group[0]], cost[group[0]])
        axes.annotate(
            text, at, xytext=(9, 0), textcoords="offset points", va="center", path_effects=HALO, fontsize=9.5
        )
