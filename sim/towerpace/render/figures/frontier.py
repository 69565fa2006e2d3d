"""What it takes to meet a date: price against P80 of every set-up tried."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from matplotlib.figure import Figure

from towerpace.answers.said.people import words
from towerpace.render.figures.compared_cost import height_for, label_dots
from towerpace.render.figures.style import (
    BLUE,
    GREY,
    RED,
    date_axis,
    day_number,
    day_numbers,
    day_text,
    new_figure,
    note,
)
from towerpace.render.frames import Framed

if TYPE_CHECKING:
    from pandas import DataFrame


def frontier_figure(framed: Framed) -> Figure:
    """A dot a set-up; those that finish earlier than every cheaper one are joined and named."""
    grid = framed["grid"]
    price, label = _price(framed, grid)
    # Its kind is a date.
    days, target = day_numbers(grid["p80"]), day_number(framed.answer.fact("target"))  # type: ignore[arg-type]
    known = np.isfinite(days) & np.isfinite(price)
    shown = np.flatnonzero(known & grid["setup"].isin(framed["frontier"]["setup"]).to_numpy())
    names = [words(str(grid["setup"].iloc[k])) for k in shown]
    figure = new_figure(framed, title=_title(framed, target), height_in=height_for(names))
    axes = figure.subplots()
    reach = [*days[known], target]
    pad = 0.12 * max(float(np.ptp(reach)), 7.0)
    date_axis(axes, low=min(reach) - pad, high=max(reach) + pad)
    axes.axvline(target, color=RED, linewidth=1.5, linestyle="--", zorder=1)
    axes.plot(days[known], price[known], "o", color=GREY, markersize=7, fillstyle="none")
    joined = shown[np.argsort(days[shown], kind="stable")]
    axes.plot(days[joined], price[joined], "o-", color=BLUE, markersize=8, linewidth=1.2)
    axes.margins(y=0.08)
    label_dots(axes, names, days[shown], price[shown])
    axes.set_xlabel("P80 of the finish")
    axes.set_ylabel(label)
    axes.yaxis.set_major_formatter("{x:,.0f}")
    axes.grid(axis="y")
    note(axes, f"full dots: earlier than every cheaper one; dashed: {day_text(target)}")
    return figure


def _price(framed: Framed, grid: DataFrame) -> tuple[np.ndarray, str]:
    unit = framed.answer.fact("unit")
    if unit is None:
        return grid["units"].to_numpy(float), "units added"
    return grid["cost"].to_numpy(float), f"mean cost of a trial [{unit}]"


def _title(framed: Framed, target: float) -> str:
    cheapest, confidence = framed.answer.fact("cheapest"), framed.answer.fact("confidence")
    # Its kind is a share.
    asked = f"{day_text(target)} with {100 * float(confidence):g} % confidence"  # type: ignore[arg-type]
    if cheapest is None:
        return f"No set-up that was tried is shown to meet {asked}"
    return f"The cheapest shown to meet {asked}: {words(str(cheapest))}"
