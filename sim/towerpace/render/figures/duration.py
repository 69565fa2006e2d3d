"""How a bid's duration comes about: base, what each allowance adds, and the contingency up to its date."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.figure import Figure

from towerpace.render.figures.style import (
    BLACK,
    BLUE,
    GREY,
    HALO,
    ORANGE,
    SKY,
    date_axis,
    day_number,
    day_text,
    new_figure,
    note,
)
from towerpace.render.frames import Framed

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from pandas import DataFrame

_TOGETHER, _APART = "all together", "where they meet"


def duration_figure(framed: Framed) -> Figure:
    """Bars from the date without uncertainty to the date at the confidence, each beginning where one ends."""
    rows = framed["duration"]
    start = day_number(framed.run.start)
    base, date = (_only(rows, part)["shift_days"] for part in ("base", "date"))
    steps = _steps(rows)
    figure = new_figure(framed, title=_title(framed, rows), height_in=1.9 + 0.42 * (len(steps) + 2))
    axes = figure.subplots()
    at = start + float(base)
    names, lowest, highest = ["as planned"], at, at
    _point(axes, 0, at)
    for row, (name, days, colour) in enumerate(steps, start=1):
        axes.barh(row, days, left=at, height=0.55, color=colour, edgecolor=BLACK, linewidth=0.7)
        axes.plot([at, at], [row - 1, row], color=GREY, linewidth=0.8, linestyle=":")
        right = max(at, at + days)
        axes.text(right, row, f"  {days:+.1f} d", va="center", ha="left", path_effects=HALO)
        at += days
        names.append(name)
        lowest, highest = min(lowest, at), max(highest, right)
    _point(axes, len(steps) + 1, start + float(date))
    names.append(str(_only(rows, "date")["source"]))
    axes.set_yticks(range(len(names)), names)
    axes.set_ylim(len(names) - 0.4, -0.6)
    axes.tick_params(axis="y", length=0)
    room = highest - lowest
    date_axis(axes, low=lowest - 0.06 * room, high=highest + 0.2 * room)
    note(axes, "allowance: moves nearly every trial, its mean; contingency: the rest up to the date")
    return figure


def _steps(rows: DataFrame) -> list[tuple[str, float, str]]:
    """Name, days and colour of every step from the base to the date."""
    allowed = rows[(rows["part"] == "allowance") & (rows["source"] != _TOGETHER)]
    known = allowed.dropna(subset=["shift_days"])
    steps = [
        (f"allowance: {source}" if source != _APART else "where allowances meet", float(days), SKY)
        for source, days in zip(known["source"], known["shift_days"], strict=True)
    ]
    contingency = float(_only(rows, "contingency")["shift_days"])
    return [*steps, ("contingency", contingency, ORANGE)]


def _only(rows: DataFrame, part: str) -> dict[str, float]:
    own = rows[rows["part"] == part].iloc[0]
    return {"shift_days": own["shift_days"], "source": own["source"]}


def _point(axes: Axes, row: int, at: float) -> None:
    axes.plot([at], [row], marker="D", color=BLUE, markersize=7)
    axes.text(at, row, f"   {day_text(at)}", va="center", ha="left", path_effects=HALO)


def _title(framed: Framed, rows: DataFrame) -> str:
    together = rows[(rows["part"] == "allowance") & (rows["source"] == _TOGETHER)]["shift_days"]
    contingency = float(_only(rows, "contingency")["shift_days"])
    allowed = f"{float(together.iloc[0]):.0f} days of allowance and " if len(together) else ""
    date = _only(rows, "date")
    until = framed.run.start + timedelta(days=float(np.floor(date["shift_days"])))
    return (
        f"{allowed}{contingency:.0f} days of contingency lie between the plan and "
        f"{date['source']}, {until.day} {until:%b %Y}"
    )
