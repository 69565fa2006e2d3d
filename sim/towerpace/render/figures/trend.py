"""The forecast of the finish as it was at every data date."""

from __future__ import annotations

import numpy as np
from matplotlib.figure import Figure

from towerpace.render.figures.marks import FINISH, dues, with_near
from towerpace.render.figures.style import (
    BLACK,
    BLUE,
    HALO,
    RED,
    SKY,
    date_axis,
    day_numbers,
    day_text,
    new_figure,
    note,
)
from towerpace.render.frames import Framed


def trend_figure(framed: Framed) -> Figure:
    """A bar from P10 to P80 for the start and each data date, the last at the bottom, with its P50."""
    rows = framed["trend"].drop_duplicates("data_date", keep="first")
    low, half, high = (day_numbers(rows[p]) for p in ("p10", "p50", "p80"))
    figure = new_figure(framed, title=_title(half), height_in=2.6 + 0.45 * len(rows))
    axes = figure.subplots()
    due = dues(framed, FINISH)
    known = np.concatenate((low, half, high))
    first, last = with_near(known[np.isfinite(known)], due)
    date_axis(axes, low=first - 0.04 * (last - first), high=last + 0.08 * (last - first))
    places = np.arange(len(rows))
    axes.hlines(places, low, np.where(np.isfinite(high), high, last), color=SKY, linewidth=9)
    then = (rows["scenario_then"] != "").to_numpy()
    axes.plot(half[~then], places[~then], "o", color=BLUE, zorder=3)
    axes.plot(half[then], places[then], "o", color=BLUE, markerfacecolor="white", zorder=3)
    for place, day in zip(places, half, strict=True):
        if np.isfinite(day):
            axes.annotate(
                day_text(day),
                (day, place),
                (0, 9),
                textcoords="offset points",
                ha="center",
                color=BLACK,
                path_effects=HALO,
            )
    for contract in due:
        axes.axvline(contract.day, color=RED, linewidth=1.2)
        axes.annotate(
            contract.name, (contract.day, -0.6), (3, 0), textcoords="offset points", color=RED, va="top"
        )
    named = ["start" if np.isnan(day) else day_text(day) for day in day_numbers(rows["data_date"])]
    axes.set_yticks(places, named)
    axes.set_ylim(len(rows) - 0.4, -0.8)
    axes.set_ylabel("data date")
    hollow = "; hollow: of the scenario as it was" if then.any() else ""
    note(axes, f"bars: P10 to P80 of the finish as seen then; dots: P50{hollow}")
    return figure


def _title(half: np.ndarray) -> str:
    known = half[np.isfinite(half)]
    if len(known) < 2:
        return "The forecast of the finish at every data date"
    days = known[-1] - known[0]
    way = "later" if days > 0 else "earlier"
    return f"Since the start P50 of the finish has moved {abs(days):.0f} days {way}"
