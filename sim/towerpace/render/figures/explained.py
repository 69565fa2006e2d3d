"""Figures of an explanation by name; the first: how many days each trade and cause held the finish."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure

from towerpace.answers.ledger.waits import SHIFT
from towerpace.answers.said.people import words
from towerpace.answers.why.chain import DATE_CAUSE, LATER_CAUSE
from towerpace.render.figures.causes import CALENDAR, GROUPS, Group, group_of
from towerpace.render.figures.explained_chain import chain_figure
from towerpace.render.figures.explained_waiting import waiting_figure
from towerpace.render.figures.style import GREY, day_number, day_text, new_figure, note
from towerpace.render.frames import Framed

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from pandas import DataFrame

NIGHTS = Group("nights and closed days", CALENDAR, "#FFFFFF", "", "are nights and closed days")
LATE = Group("later than its date", CALENDAR, "#FFFFFF", "xxxx", "pass as a planned date is not kept")
ALL = (*(group for group in GROUPS), NIGHTS, LATE)
_SPECIAL = {SHIFT: NIGHTS, LATER_CAUSE: LATE}
_EDGES = {NIGHTS.name: "#BBBBBB", LATE.name: GREY}


def held_figure(framed: Framed) -> Figure:
    """A bar a trade, stacked by groups of causes, in days of the finish."""
    table = held_days(framed)
    height_in = float(np.clip(2.9 + 0.45 * len(table), 3.4, 9.0))
    figure = new_figure(framed, title=_title(table), height_in=height_in)
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
    axes.set_xlabel("days of 24 hours that the controlling chain spent there")
    axes.legend(loc="upper center", bbox_to_anchor=(0.45, 0), borderaxespad=4.2, ncols=3)
    note(axes, "; ".join(_notes(framed)))
    return figure


def _notes(framed: Framed) -> Iterator[str]:
    """What the bars leave out: the days before the chain begins, which are no trade's, and trials."""
    # Its kind is days: a number, or none.
    before = float(framed.answer.fact("before_begin_days") or 0.0)  # type: ignore[arg-type]  # a fact of days
    dates = set(framed["begins"]["date"].dropna().tolist())
    if before and len(dates) == 1:
        yield f"until {day_text(day_number(dates.pop().date()))} nothing on the chain could start"
    elif before:
        yield f"{before:,.0f} days pass before the chain begins, at planned dates"
    beyond = _beyond(framed)
    yield f"mean of the trials that finish{f'; {beyond} do not' if beyond else ''}"


def held_days(framed: Framed) -> DataFrame:
    """Trades by groups of causes, mean days of the finish once the chain has begun; the longest first. [d]"""
    from pandas import DataFrame

    held = framed["held"]
    days: dict[str, dict[str, float]] = {}
    columns = (held[name].tolist() for name in ("trade", "cause", "mean_days"))
    for trade, cause, mean_days in zip(*columns, strict=True):
        if cause != DATE_CAUSE:
            own, name = days.setdefault(trade, {}), group_of_chain(cause).name
            own[name] = own.get(name, 0.0) + mean_days
    table = DataFrame.from_dict(days, orient="index").fillna(0.0)
    return table.loc[table.sum(axis=1).sort_values(ascending=False, kind="stable").index]


def group_of_chain(cause: str) -> Group:
    """The group of a cause of the chain, which also runs through nights; not of the wait for its begin."""
    group = _SPECIAL.get(cause) or group_of(cause)
    assert group is not None, "the only cause without a group is the night, which has one here"
    return group


def _title(table: DataFrame) -> str:
    """The trade and the cause that held most, nights apart."""
    total = float(table.to_numpy().sum())
    lost = table.drop(columns=[NIGHTS.name, "work"], errors="ignore")
    trades = table.sum(axis=1)
    longest = f"{trades.max():,.0f} pass on {words(str(trades.idxmax()))}"
    first = f"Of {total:,.0f} days on the controlling chain {longest}"
    if not lost.size or lost.to_numpy().max() <= 0:
        return first
    causes = lost.sum(axis=0)
    return f"{first}; the largest loss on the way: {causes.idxmax()}, {causes.max():,.1f} days"


def _beyond(framed: Framed) -> int:
    return int(framed["unfinished"]["trial"].nunique())


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


FIGURES = {
    "held_the_finish": held_figure,
    "who_waits_for_what": waiting_figure,
    "chain_of_trial": chain_figure,
}
