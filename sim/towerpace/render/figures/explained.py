"""Figures of an explanation by name; the first: how many days each trade and cause held the finish."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure

from towerpace.answers.ledger.waits import SHIFT
from towerpace.answers.why.explain import DATE_CAUSE, LATER_CAUSE
from towerpace.render.figures.causes import CALENDAR, GROUPS, Group, group_of
from towerpace.render.figures.explained_chain import chain_figure
from towerpace.render.figures.explained_waiting import waiting_figure
from towerpace.render.figures.style import GREY, look, new_figure, note, write_figure
from towerpace.render.saved.forecast import Saved
from towerpace.render.tables.words import words

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from pandas import DataFrame

NIGHTS = Group("nights and closed days", CALENDAR, "#FFFFFF", "", "are nights and closed days")
DATES = Group("until a planned date", CALENDAR, "#FFFFFF", "....", "pass before a planned date")
LATE = Group("later than its date", CALENDAR, "#FFFFFF", "xxxx", "pass as a planned date is not kept")
ALL = (*(group for group in GROUPS), NIGHTS, DATES, LATE)
_SPECIAL = {SHIFT: NIGHTS, DATE_CAUSE: DATES, LATER_CAUSE: LATE}
_EDGES = {NIGHTS.name: "#BBBBBB", DATES.name: GREY, LATE.name: GREY}


def held_figure(saved: Saved) -> Figure:
    """A bar a trade, stacked by groups of causes, in days of the finish."""
    table = held_days(saved)
    height_in = float(np.clip(2.9 + 0.45 * len(table), 3.4, 9.0))
    figure = new_figure(saved, title=_title(table), height_in=height_in)
    axes = figure.subplots()
    left, widest = np.zeros(len(table)), float(table.sum(axis=1).max())
    for group in ALL:
        if group.name in table.columns:
            left = _stack(axes, table, group, left=left, widest=widest)
    for row, total in enumerate(left.tolist()):
        axes.text(total, row, f" {total:,.1f} d", va="center", color=GREY, fontsize=9.5)
    axes.set_yticks(range(len(table)), [words(str(trade)) for trade in table.index])
    axes.invert_yaxis()
    axes.set_xlim(0, 1.14 * widest)
    axes.tick_params(axis="y", length=0)
    axes.grid(axis="x")
    axes.set_xlabel("days of the finish that the critical chain spent there")
    axes.legend(loc="upper center", bbox_to_anchor=(0.45, 0), borderaxespad=4.2, ncols=3)
    beyond = _beyond(saved)
    note(axes, f"mean of the trials that finish{f'; {beyond} do not' if beyond else ''}")
    return figure


def held_days(saved: Saved) -> DataFrame:
    """Trades by groups of causes, mean days of the finish; the trade that held longest first. [d]"""
    from pandas import DataFrame

    held = saved.tables["held"]
    days: dict[str, dict[str, float]] = {}
    columns = (held[name].tolist() for name in ("trade", "cause", "mean_days"))
    for trade, cause, mean_days in zip(*columns, strict=True):
        own = days.setdefault(trade, {})
        name = group_of_chain(cause).name
        own[name] = own.get(name, 0.0) + mean_days
    table = DataFrame.from_dict(days, orient="index").fillna(0.0)
    return table.loc[table.sum(axis=1).sort_values(ascending=False, kind="stable").index]


def group_of_chain(cause: str) -> Group:
    """The group of a cause of the chain, which also runs through nights and before dates."""
    group = _SPECIAL.get(cause) or group_of(cause)
    assert group is not None, "the only cause without a group is the night, which has one here"
    return group


def _title(table: DataFrame) -> str:
    """The trade and the cause that held most, nights and dates apart."""
    total = float(table.to_numpy().sum())
    lost = table.drop(columns=[NIGHTS.name, DATES.name, "work"], errors="ignore")
    trades = table.drop(columns=DATES.name, errors="ignore").sum(axis=1)
    first = f"Of {total:,.0f} days to the finish {trades.max():,.0f} pass on {words(str(trades.idxmax()))}"
    if not lost.size or lost.to_numpy().max() <= 0:
        return first
    causes = lost.sum(axis=0)
    return f"{first}; the largest loss on the way: {causes.idxmax()}, {causes.max():,.1f} days"


def _beyond(saved: Saved) -> int:
    return int(saved.tables["unfinished"]["trial"].nunique())


def _stack(axes: Axes, table: DataFrame, group: Group, *, left: np.ndarray, widest: float) -> np.ndarray:
    values, rows = table[group.name].to_numpy(float), np.arange(len(table))
    edge = _EDGES.get(group.name, "white")
    axes.barh(
        rows,
        values,
        left=left,
        height=0.7,
        label=group.name,
        color=group.colour,
        hatch=group.hatch,
        edgecolor=edge,
        linewidth=0.8,
    )
    dark = float(np.dot(to_rgb(group.colour), (0.299, 0.587, 0.114))) < 0.5 and not group.hatch
    for row in np.flatnonzero(values > 0.045 * widest).tolist():
        text = axes.text(
            left[row] + values[row] / 2,
            row,
            f"{values[row]:,.0f}" if values[row] >= 10 else f"{values[row]:.1f}",
            ha="center",
            va="center",
            fontsize=9,
            color="white" if dark else "black",
        )
        if group.hatch:
            text.set_bbox({"facecolor": "white", "edgecolor": "none", "boxstyle": "square,pad=0.15"})
    return np.asarray(left + values)


EXPLAINED_FIGURES: dict[str, Callable[[Saved], Figure]] = {
    "held_the_finish": held_figure,
    "who_waits_for_what": waiting_figure,
    "chain_of_trial": chain_figure,
}
_NEEDS = {"held_the_finish": "held", "who_waits_for_what": "waiting", "chain_of_trial": "chain"}


def explained_figures_of(saved: Saved) -> list[str]:
    """Names of the figures that can be drawn: no chain without a trial, or for one that does not finish."""
    return [n for n in EXPLAINED_FIGURES if _NEEDS[n] in saved.tables and len(saved.tables[_NEEDS[n]])]


def draw_explained(name: str, saved: Saved) -> Figure:
    """One figure; raises `KeyError` for a name that is not in `EXPLAINED_FIGURES`."""
    with look():
        return EXPLAINED_FIGURES[name](saved)


def write_explained_figures(saved: Saved, folder: Path) -> None:
    """Every figure as PNG and SVG, named as in `EXPLAINED_FIGURES`."""
    for name in explained_figures_of(saved):
        with look():
            write_figure(draw_explained(name, saved), folder / name, saved=saved)
