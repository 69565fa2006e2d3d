"""Where the time goes: working hours of each trade, and calendar days its fronts wait for what has not come.

Two axes, for two clocks (see `causes`): added on one, a Sunday spent waiting for a truck would dwarf every
hour of wind.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure

from towerpace.answers.ledger.book import BY_CLOCK
from towerpace.answers.said.people import words
from towerpace.plan.site.fronts import DELIVERY, HOISTING
from towerpace.render.figures.causes import CALENDAR, GROUPS, WORK_GROUP, WORKING, Group, group_of
from towerpace.render.figures.style import GREY, new_figure
from towerpace.render.frames import Framed

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from pandas import DataFrame

DAY_H = 24
_SHIFT_LABEL = "shift hours, all work areas together\n(nights, breaks and closed days left out)"
_WAIT_LABEL = "calendar days that a work area waits,\nor activities take (nights included)"
_OF = {HOISTING: "hoisting\n(all crates)", DELIVERY: "delivery\n(all trucks)"}
_BELOW_LABEL = 5.6  # letter heights from the axis down to the words on colours
_NAMED = {group.name: group for group in GROUPS}


def time_figure(framed: Framed) -> Figure:
    """Stacked bars a trade, in two panels."""
    working, waiting = shares(framed, WORKING), shares(framed, CALENDAR)
    height_in = float(np.clip(2.6 + 0.45 * len(working), 3.2, 9.0))
    on_fronts = framed["flow"]["trade"].unique()
    title = _title(*(table[table.index.isin(on_fronts)] for table in (working, waiting)))
    figure = new_figure(framed, title=title, height_in=height_in)
    both = ((working, "h", _SHIFT_LABEL), (waiting, "d", _WAIT_LABEL))
    shown = [group for group in both if group[0].size]
    row = figure.subplots(1, len(shown), sharey=True, squeeze=False, width_ratios=(1.25, 1)[: len(shown)])[0]
    for axes, (table, unit, label) in zip(row, shown, strict=True):
        _bars(axes, table, unit=unit)
        axes.set_xlabel(label)
        axes.tick_params(axis="y", length=0)
    row[0].set_yticks(range(len(working)), [_OF.get(trade, words(trade)) for trade in working.index])
    row[0].invert_yaxis()
    return figure


def shares(framed: Framed, clock: str) -> DataFrame:
    """Trades by groups of causes that run on one clock: hours of a trial, or days of a front.

    What belongs to no front is not shared out over them: days of a trial.

    Every trade has a row, also without minutes on this clock; groups without minutes have no column.
    """
    from pandas import DataFrame

    ledger = framed["ledger"]
    trades = list(dict.fromkeys(ledger["trade"].tolist()))
    hours = {group.name: dict.fromkeys(trades, 0.0) for group in GROUPS if group.clock == clock}
    for trade, cause, mean_h in zip(*(ledger[c].tolist() for c in ("trade", "cause", "mean_h")), strict=True):
        group = group_of(cause)
        if group is not None and group.clock == clock:
            hours[group.name][trade] += mean_h
    table = DataFrame(
        {name: by_trade for name, by_trade in hours.items() if any(by_trade.values())}, index=trades
    )
    if clock != CALENDAR:
        return table
    by_clock = set(ledger.loc[ledger["cause"] == BY_CLOCK, "trade"])  # what takes days itself, and no front
    return table.div([DAY_H * (1 if trade in by_clock else framed.run.fronts) for trade in trades], axis=0)


def _title(working: DataFrame, waiting: DataFrame) -> str:
    """The largest loss on either clock."""
    lost = working.drop(columns=WORK_GROUP, errors="ignore")
    said = []
    for table, what in (
        (lost, "{} shift hours of {} {}"),
        (waiting, "a work area of {1} waits {0} days {2}"),
    ):
        values = table.to_numpy(float)
        if values.size and values.max() > 0:
            row, column = divmod(int(values.argmax()), values.shape[1])
            trade, group = words(str(table.index[row])), _NAMED[str(table.columns[column])]
            said.append(what.format(_shown(float(values.max())), trade, group.loss))
    losses = "Largest losses" if len(said) > 1 else "Largest loss"
    return f"{losses}: {'; '.join(said)}" if said else "Every hour inside the shift goes into work"


def _bars(axes: Axes, table: DataFrame, *, unit: str) -> None:
    rows = np.arange(len(table))
    left = np.zeros(len(table))
    widest = float(table.sum(axis=1).max()) or 1.0
    for name in table.columns:
        group, values = _NAMED[name], table[name].to_numpy(float)
        there = values > 0  # a bar of nothing would be drawn as a white line
        axes.barh(
            rows[there],
            values[there],
            left=left[there],
            height=0.7 if len(table) > 2 else 0.4,
            label=name,
            color=group.colour,
            hatch=group.hatch,
            edgecolor="white",
            linewidth=0.8,
        )
        for row in np.flatnonzero(values > 0.1 * widest):
            _value(axes, left[row] + values[row] / 2, float(row), group=group, value=values[row])
        left += values
    for row in np.flatnonzero(left > 0):
        total = f" {_shown(left[row])} {unit}"
        axes.text(left[row], float(row), total, va="center", color=GREY, fontsize=9.5)
    axes.set_xlim(0, 1.2 * widest)
    axes.grid(axis="x")
    axes.legend(loc="upper center", bbox_to_anchor=(0.45, 0), borderaxespad=_BELOW_LABEL, ncols=2)


def _value(axes: Axes, x: float, y: float, *, group: Group, value: float) -> None:
    dark = float(np.dot(to_rgb(group.colour), (0.299, 0.587, 0.114))) < 0.5 and not group.hatch
    text = axes.text(
        x, y, _shown(value), ha="center", va="center", fontsize=9, color="white" if dark else "black"
    )
    if group.hatch:
        text.set_bbox({"facecolor": "white", "edgecolor": "none", "boxstyle": "square,pad=0.15"})


def _shown(value: float) -> str:
    return f"{value:,.0f}" if round(value, 1) >= 10 else f"{value:.1f}"
