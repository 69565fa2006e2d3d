"""How forecasts of a date moved from data date to data date, beside the day on which it came."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from pandas import DataFrame

from towerpace.render.figures.style import (
    BLACK,
    BLUE,
    GREY,
    SKY,
    date_axis,
    day_number,
    day_numbers,
    day_text,
    new_figure,
    note,
)
from towerpace.render.frames import Framed

PANELS = 3  # the finish, and levels
_HOW = "band: P10 to P90; line: P50; dashed: when it came"


def trend_figure(framed: Framed) -> Figure:
    """A band from P10 to P90 over the data dates for the finish and two levels, with the day that came."""
    rows = framed["outcomes"]
    start = day_number(framed.run.start)
    made = day_numbers(rows["data_date"])
    rows = rows.assign(made=np.where(np.isnan(made), start, made))
    shown = _shown(rows)
    figure = new_figure(framed, title=_title(rows, shown), height_in=4.6)
    seen = float(rows["made"].max())
    every = figure.subplots(1, len(shown), squeeze=False)[0]
    for axes, milestone in zip(every, shown, strict=True):
        _panel(axes, rows[rows["milestone"] == milestone].sort_values("made"), last=seen)
        axes.set_title(milestone, loc="left", fontsize=10.5, color=GREY)
    every[0].set_ylabel("forecast of the day")
    figure.text(0.01, 0.012, _HOW, color=GREY, fontsize=9, va="bottom")
    return figure


def _shown(rows: DataFrame) -> list[str]:
    """The lowest and the highest level that came and that most forecasts speak of, and the finish."""
    levels = rows[rows["level"].notna()]
    levels = levels[levels["came"].notna()] if levels["came"].notna().any() else levels
    counts = levels.groupby("milestone", sort=False).size()
    most = set(counts[counts == counts.max()].index)
    ordered = levels.drop_duplicates("milestone").sort_values("level")["milestone"]
    told = [str(name) for name in ordered if name in most]
    places = np.linspace(0, len(told) - 1, PANELS - 1).round().astype(int).tolist() if told else []
    finish = rows.loc[rows["level"].isna(), "milestone"].drop_duplicates()
    return [*dict.fromkeys(told[int(k)] for k in places), *map(str, finish)]


def _title(rows: DataFrame, shown: list[str]) -> str:
    """What the first milestone that came says: how far the first forecast and the last were off."""
    for milestone in shown:
        own = rows[rows["milestone"] == milestone].sort_values("made")
        came, half = day_numbers(own["came"])[0], day_numbers(own["p50"])
        if np.isfinite(came) and np.isfinite(half[[0, -1]]).all() and len(half) > 1:
            first, last = (_off(float(day - came)) for day in half[[0, -1]])
            when = f"{milestone[0].upper()}{milestone[1:]} came on {day_text(came)}"
            return f"{when}: P50 of the first forecast was {first}, of the last {last}"
    return "How the forecasts moved from data date to data date"


def _off(days: float) -> str:
    if not days:
        return "right to the day"
    return f"{abs(days):.0f} {'day' if abs(days) == 1 else 'days'} {'late' if days > 0 else 'early'}"


def _panel(axes: Axes, own: DataFrame, *, last: float) -> None:
    made = own["made"].to_numpy(float)
    low, half, high = (day_numbers(own[name]) for name in ("p10", "p50", "p90"))
    came = float(day_numbers(own["came"])[0])
    axes.fill_between(made, low, high, color=SKY, alpha=0.45, linewidth=0)
    axes.plot(made, half, "o-", color=BLUE, markersize=4.5)
    axes.vlines(made, low, high, color=SKY, linewidth=1.2)
    if np.isfinite(came):
        axes.axhline(came, color=BLACK, linewidth=1.3, linestyle="--")
    else:
        note(axes, "still open")
    known = np.concatenate((low, half, high, [came]))
    known = known[np.isfinite(known)]
    span = max(float(known.max() - known.min()), 7.0)
    first, reach = float(made.min()), max(float(last - made.min()), 14.0)
    # Dates up the side are set as those along the bottom, whose marks know months and years.
    date_axis(axes, low=float(known.min()) - 0.1 * span, high=float(known.max()) + 0.1 * span)
    axes.yaxis.set_major_locator(axes.xaxis.get_major_locator())
    axes.yaxis.set_major_formatter(axes.xaxis.get_major_formatter())
    axes.set_ylim(float(known.min()) - 0.1 * span, float(known.max()) + 0.1 * span)
    date_axis(axes, low=first - 0.06 * reach, high=last + 0.06 * reach)
    axes.set_xlabel("data date")
