"""Flow of the trades once the site runs: as built up to the data date, to come after it, and the baseline."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.figure import Figure

from towerpace.answers.said.people import words
from towerpace.render.figures.flow import Line, draw_flow, flow_lines
from towerpace.render.figures.style import BLACK, GREY, HALO, day_number, day_numbers, day_text
from towerpace.render.frames import Framed

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from towerpace.units import Floats

THICK, THIN = 3.2, 0.9


def as_built_figure(framed: Framed) -> Figure:
    """A line a trade, thick as far as it is built, beside a thin one of the baseline; bands after that."""
    lines, held, data_date = flow_lines(framed), _held(framed), framed.answer.fact("data_date")
    assert isinstance(data_date, date), "every update has one"
    seen = day_number(data_date)
    said = "thick: as built; then medians, shaded P10 to P90; thin: the baseline"
    days = list(held.values())
    figure = draw_flow(framed, lines, title=_title(lines, held, seen), said=said, shown=days)
    axes = figure.axes[0]
    for line in lines:
        _draw_built(axes, line, until=seen + 1)
        if (dates := held.get(line.trade)) is not None:
            gid = f"baseline {line.trade}"
            axes.plot(dates, line.levels, color=line.colour, linewidth=THIN, gid=gid)
    _mark(axes, seen)
    return figure


def _held(framed: Framed) -> dict[str, Floats]:
    """Days of the baseline of every trade that has any, (n_levels,), NaN where it has none."""
    flow = framed["flow"]
    held = {str(trade): day_numbers(rows["baseline"]) for trade, rows in flow.groupby("trade", sort=False)}
    return {trade: days for trade, days in held.items() if np.isfinite(days).any()}


def _built(line: Line, until: float) -> int:
    """How many levels of a trade are built, from the lowest up."""
    later = np.flatnonzero(~(line.high < until))
    return int(later[0]) if later.size else len(line.levels)


def _title(lines: list[Line], held: dict[str, Floats], data_date: float) -> str:
    line = lines[-1]
    count = _built(line, data_date + 1)
    text = f"By {day_text(data_date)} {words(line.trade)} is done on {count} of {len(line.levels)} levels"
    dates = held.get(line.trade)
    if not count or dates is None or not np.isfinite(dates[count - 1]):
        return text
    days = round(line.middle[count - 1] - dates[count - 1])
    way = "on its day in" if not days else f"{abs(days)} days {'after' if days > 0 else 'before'}"
    return f"{text}, the last of them {way} the baseline"


def _draw_built(axes: Axes, line: Line, *, until: float) -> None:
    n = _built(line, until)
    axes.plot(
        line.middle[:n],
        line.levels[:n],
        color=line.colour,
        linewidth=THICK,
        solid_capstyle="butt",
        marker="o" if n == 1 else None,
        gid=f"built {line.trade}",
    )


def _mark(axes: Axes, data_date: float) -> None:
    """The line at whose left everything is as built."""
    low, high = axes.get_xlim()
    right = data_date - low > 0.2 * (high - low)
    axes.axvline(data_date + 1, color=BLACK, linewidth=1.2, gid="data date")
    axes.annotate(
        f"data date {day_text(data_date)}",
        (data_date + 1, axes.get_ylim()[0]),
        (-5 if right else 5, 5),
        textcoords="offset points",
        ha="right" if right else "left",
        va="bottom",
        color=GREY,
        path_effects=HALO,
    )
