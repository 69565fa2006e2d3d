"""What a date costs: mean cost against P80 of the set-ups of a choice."""

from __future__ import annotations

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


def trade_off_figure(framed: Framed) -> Figure:
    """A dot a set-up tried; those that finish earlier than every cheaper one are joined and numbered.

    The choice, the file and both ends of the line are named; the others have their number of the table.
    """
    tried, curve = framed["tried"], framed["trade_off"]
    days, cost = day_numbers(curve["p80"]), curve["cost"].to_numpy(float)
    verdict = curve["verdict"].astype(str)
    kept = np.flatnonzero(verdict.str.contains("kept").to_numpy())
    named = np.flatnonzero(verdict.str.contains("kept|file|choice").to_numpy())
    inner = np.setdiff1d(kept[1:-1], np.flatnonzero(verdict.str.contains("file|choice").to_numpy()))
    told = np.setdiff1d(named, inner)
    places = curve["place"].to_numpy(int)
    names = [f"{places[k]}: {_named(str(curve['setup'].iloc[k]), verdict.iloc[k])}" for k in told]
    figure = new_figure(framed, title=_title(framed), height_in=height_for(names))
    axes = figure.subplots()
    # Its kind is a date.
    due = framed.answer.fact("by")
    ends = [*days[named], *([] if due is None else [day_number(due)])]  # type: ignore[arg-type]  # a day
    pad = 0.12 * max(float(np.ptp(ends)), 7.0)
    low, high = min(ends) - pad, max(ends) + pad
    date_axis(axes, low=low, high=high)
    if due is not None:
        axes.axvline(ends[-1], color=RED, linewidth=1.5, linestyle="--", zorder=1)
    others, prices = day_numbers(tried["p80"]), tried["cost"].to_numpy(float)
    near = np.isfinite(others) & np.isfinite(prices) & (others >= low) & (others <= high)
    axes.plot(others[near], prices[near], "o", color=GREY, markersize=4, fillstyle="none", zorder=1)
    joined = kept[np.argsort(days[kept], kind="stable")]
    axes.plot(days[joined], cost[joined], "o-", color=BLUE, markersize=13, linewidth=1.2)
    file = np.flatnonzero(verdict.str.contains("file").to_numpy())
    axes.plot(days[file], cost[file], "s", color=GREY, markersize=13)
    chosen = np.flatnonzero(verdict.str.contains("choice").to_numpy())
    axes.plot(days[chosen], cost[chosen], "D", color=RED, markersize=13)
    for k in named:
        text = axes.text(days[k], cost[k], str(places[k]), color="white", fontsize=8, zorder=4)
        text.set(ha="center", va="center_baseline")
    axes.margins(y=0.08)
    label_dots(axes, names, days[told], cost[told])
    axes.set_xlabel("P80 of the finish")
    axes.set_ylabel(f"mean cost of a trial [{framed.answer.fact('unit')}]")
    axes.yaxis.set_major_formatter("{x:,.0f}")
    axes.grid(axis="y")
    note(axes, _legend(is_chosen=bool(len(chosen))))
    return figure


def _named(setup: str, verdict: str) -> str:
    return f"{words(setup)} (the choice)" if "the choice" in verdict else words(setup)


def _legend(*, is_chosen: bool) -> str:
    chosen = "; diamond: the choice" if is_chosen else ""
    rings = "rings: tried, by few trials"
    return f"numbers: as in the table; on the line: kept; {rings}; square: the file{chosen}"


def _title(framed: Framed) -> str:
    choice, due = framed.answer.fact("choice"), framed.answer.fact("by")
    if due is not None:
        # Their kinds are a date and a share.
        date = day_text(day_number(due))  # type: ignore[arg-type]  # a day
        per_cent = 100 * float(framed.answer.fact("confidence"))  # type: ignore[arg-type]  # a share
        asked = f"{date} with {per_cent:g} % confidence"
        if choice is None:
            return f"No set-up tried is shown to meet {asked}"
        return f"The least cost for {asked}: {words(str(choice))}"
    if framed.answer.fact("goal") == "earliest":
        none = "No set-up tried is shown to keep the budget"
        return f"The earliest P80: {words(str(choice))}" if choice else none
    return "What an earlier finish costs"


FIGURES = {"trade_off": trade_off_figure}
