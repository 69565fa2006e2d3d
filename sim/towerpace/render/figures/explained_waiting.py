"""Who waits for what: two tables whose cells are the darker the longer the wait, for two clocks."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.colors import PowerNorm
from matplotlib.figure import Figure

from towerpace.answers.said.people import words
from towerpace.render.figures.style import GREY, new_figure
from towerpace.render.frames import Framed
from towerpace.units import Floats

if TYPE_CHECKING:
    from matplotlib.axes import Axes

DAY_H = 24.0
_DARK = 0.55  # of the scale: above it the numbers are white
_LABELS = {
    "shift": "short of a resource: shift hours,\nall work areas together",
    "calendar": "for what comes before: calendar days\nthat a work area waits (own trade: on other areas)",
}
_LEAST = 0.05


@dataclass(frozen=True)
class Waits:
    """Waits on one clock, (n_who, n_for), hours or days."""

    who: list[str]
    what: list[str]
    values: Floats
    clock: str


def waiting_figure(framed: Framed) -> Figure:
    """Rows wait for columns."""
    tables = [table for clock in _LABELS if (table := waits(framed, clock)).what]
    title = _title(tables)
    longest = max((len(words(name)) for table in tables for name in table.what), default=0)
    rows = len(tables[0].who) if tables else 1
    figure = new_figure(
        framed, title=title, height_in=float(np.clip(2.2 + 0.42 * rows + 0.06 * longest, 3.2, 10))
    )
    if not tables:
        return figure
    widths = [max(len(table.what), 2) for table in tables]
    panels = figure.subplots(1, len(tables), squeeze=False, sharey=True, width_ratios=widths)[0]
    for axes, table in zip(panels, tables, strict=True):
        _heat(axes, table)
    panels[0].set_yticks(range(rows), [words(name) for name in tables[0].who])
    return figure


def waits(framed: Framed, clock: str) -> Waits:
    """The waits of one clock; every trade that waits at all has a row, columns in the order of their sums."""
    table = framed["waiting"]
    who = list(dict.fromkeys(table["trade"].tolist()))
    rows = table[table["clock"] == clock]
    names = list(dict.fromkeys(rows["awaited"].tolist()))
    values = np.zeros((len(who), len(names)))
    for a, b, hours in zip(
        rows["trade"].tolist(), rows["awaited"].tolist(), rows["mean_h"].tolist(), strict=True
    ):
        values[who.index(a), names.index(b)] += hours
    if clock == "calendar":
        values /= DAY_H * framed.run.fronts
    order = [
        k for k in np.argsort(-values.sum(axis=0), kind="stable").tolist() if values[:, k].max() >= _LEAST
    ]
    return Waits(who, [names[k] for k in order], values[:, order], clock)


def _title(tables: list[Waits]) -> str:
    said = []
    for table in tables:
        row, column = divmod(int(table.values.argmax()), len(table.what))
        who, what, value = words(table.who[row]), _awaited(table, row, column), table.values[row, column]
        if table.clock == "shift":
            said.append(f"{who} for {what}, {value:,.0f} hours")
        else:
            said.append(f"a work area of {who} for {what}, {value:.1f} days")
    waits = "Longest waits" if len(said) > 1 else "Longest wait"
    return f"{waits}: {'; '.join(said)}" if said else "Nobody waits for anybody"


def _awaited(table: Waits, row: int, column: int) -> str:
    what = words(table.what[column])
    return f"{what} elsewhere" if table.what[column] == table.who[row] else what


def _heat(axes: Axes, table: Waits) -> None:
    size = 9 if len(table.what) < 8 else 8
    norm = PowerNorm(0.5, vmin=0, vmax=float(table.values.max()) or 1.0)
    axes.imshow(table.values, cmap="Greys", norm=norm, aspect="auto", vmax=None)
    for row, column in np.argwhere(table.values >= _LEAST).tolist():
        value = float(table.values[row, column])
        shown = f"{value:,.0f}" if round(value, 1) >= 10 else f"{value:.1f}"
        colour = "white" if norm(value) > _DARK else "black"
        axes.text(column, row, shown, ha="center", va="center", fontsize=size, color=colour)
    axes.set_xticks(range(len(table.what)), [words(name) for name in table.what], rotation=35, ha="left")
    axes.xaxis.tick_top()
    axes.tick_params(length=0)
    axes.set_xticks(np.arange(-0.5, len(table.what)), minor=True)
    axes.set_yticks(np.arange(-0.5, len(table.who)), minor=True)
    axes.grid(which="minor", color="#BBBBBB", linewidth=0.7)
    axes.tick_params(which="minor", length=0)
    for side in axes.spines.values():
        side.set_visible(False)
    axes.set_xlabel(_LABELS[table.clock], color=GREY)
