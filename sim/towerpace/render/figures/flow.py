"""Flow of the trades up the tower: the day on which each is done on each level in the middle trial."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.figure import Figure

from towerpace.answers.said.people import words
from towerpace.plan.site.tower import CLOSING_IN, HANDOVER
from towerpace.render.figures.marks import CLOSING_IN as CLOSED
from towerpace.render.figures.marks import FINISH, dues, mark_contract, with_near
from towerpace.render.figures.style import (
    BLACK,
    GREY,
    HALO,
    LINE_COLOURS,
    LINE_DASHES,
    apart,
    date_axis,
    day_number,
    day_numbers,
    level_axis,
    new_figure,
    note,
)
from towerpace.render.frames import Framed
from towerpace.units import Floats

if TYPE_CHECKING:
    from matplotlib.axes import Axes


@dataclass(frozen=True)
class Line:
    """One trade: levels and the days of done, P10, P50 and P90. [d]"""

    trade: str
    levels: Floats
    low: Floats
    middle: Floats
    high: Floats
    colour: str
    dashes: object

    @property
    def end(self) -> tuple[float, float] | None:
        """Day and level of the highest point, None for a trade that is never done."""
        known = np.flatnonzero(np.isfinite(self.middle))
        return (float(self.middle[known[-1]]), float(self.levels[known[-1]])) if known.size else None


def flow_figure(framed: Framed) -> Figure:
    """A line a trade; bands only where they stand apart: the structure and the last trade."""
    lines = flow_lines(framed)
    who = f"for structure and {words(lines[-1].trade)}"
    said = f"shaded: four in five trials (P10 to P90), {who}" if framed.run.trials > 1 else ""
    return draw_flow(framed, lines, title=_title(framed, lines), said=said)


def draw_flow(
    framed: Framed, lines: list[Line], *, title: str, said: str, shown: Sequence[Floats] = ()
) -> Figure:
    """The lines with their names and the contract dates.

    said : a note below the title. shown : further days that must have room. [d]
    """
    levels = lines[0].levels
    tall = len(levels) > 6
    figure = new_figure(framed, title=title, height_in=7.0 if tall else 5.0)
    axes = figure.subplots()
    row = max(float(np.ptp(levels)), 1.0) / (19 if tall else 11)  # of words, in levels
    low, high = _reach(framed, lines, shown)
    date_axis(axes, low=low, high=high)
    for line in lines:
        _draw(axes, line, banded=line.trade == HANDOVER or line is lines[-1])
    _names(axes, lines, row=row, due=[due.day for due in dues(framed, FINISH)])
    _contracts(axes, framed, top=float(levels[-1]))
    level_axis(axes, levels.astype(int).tolist())
    if said:
        note(axes, said)
    return figure


def flow_lines(framed: Framed) -> list[Line]:
    """The structure and the trades in the order of the scenario."""
    flow = framed["flow"]
    lines: list[Line] = []
    # Closing-in is a milestone that one of the trades reaches: a line of its own would lie on theirs.
    for trade in [name for name in flow["trade"].unique() if name != CLOSING_IN]:
        rows = flow[flow["trade"] == trade]
        low, middle, high = (day_numbers(rows[f"done_{p}"]) for p in ("p10", "p50", "p90"))
        k = len(lines) - 1
        colour = GREY if trade == HANDOVER else LINE_COLOURS[k % len(LINE_COLOURS)]
        dashes = "-" if trade == HANDOVER else LINE_DASHES[k % len(LINE_DASHES)]
        lines.append(Line(trade, rows["level"].to_numpy(float), low, middle, high, colour, dashes))
    return lines


def _title(framed: Framed, lines: list[Line]) -> str:
    first, last = lines[0], lines[-1]
    who = "The only trial" if framed.run.trials == 1 else "Medians"
    lag = (last.middle - first.middle) / 7
    bottom, top = int(first.levels[0]), int(first.levels[-1])
    if np.isnan(lag).any():
        done = int(np.isfinite(last.middle).sum())
        return f"{who}: {words(last.trade)} is done on {done} of {len(lag)} levels before the clock ends"
    text = f"{who}: {words(last.trade)} is done {_weeks(lag[0])} after the handover of level {bottom}"
    return text if top == bottom else f"{text} and {_weeks(lag[-1])} after that of level {top}"


def _weeks(count: float) -> str:
    return f"{7 * count:.0f} days" if count < 2 else f"{count:.0f} weeks"


def _reach(framed: Framed, lines: list[Line], shown: Sequence[Floats]) -> tuple[float, float]:
    own = [np.concatenate((line.low, line.middle, line.high)) for line in lines]
    days = np.concatenate([*own, *shown])
    start = day_number(framed.run.start)
    days = np.append(days, [start, start + 14.0])
    low, high = with_near(days, dues(framed, FINISH, CLOSED))
    return low - 0.02 * (high - low), high + 0.17 * (high - low)


def _draw(axes: Axes, line: Line, *, banded: bool) -> None:
    single = np.isfinite(line.middle).sum() == 1
    axes.plot(
        line.middle,
        line.levels,
        color=line.colour,
        linestyle=line.dashes,
        linewidth=2,
        marker="o" if single else None,
        gid=f"trade {line.trade}",
    )
    if banded:
        inside = np.isfinite(line.low) & np.isfinite(line.high)
        axes.fill_betweenx(
            line.levels[inside],
            line.low[inside],
            line.high[inside],
            color=line.colour,
            alpha=0.22,
            linewidth=0,
        )


def _names(axes: Axes, lines: list[Line], *, row: float, due: list[float]) -> None:
    """Names at the upper ends; where several ends stand close, one above the other with a thin leader."""
    ended = sorted((end, k) for k, line in enumerate(lines) if (end := line.end) is not None)
    named = [(end, lines[k]) for end, k in ended]
    groups = _close_together(axes, named)
    heights = [end[1] for end, _ in named] + [lines[0].levels[0]]
    heights += [lines[0].levels[-1] + 2.5 * len(due) * row]
    for group in groups:
        last = group is groups[-1]
        heights += _column(axes, group, row=row, due=due) if last else _pile(axes, group, row=row)
    axes.set_ylim(min(heights) - row, max(heights) + row)


Named = tuple[tuple[float, float], Line]


def _close_together(axes: Axes, named: list[Named]) -> list[list[Named]]:
    """Neighbours in time whose names would run into each other."""
    low, high = axes.get_xlim()
    letter_d = 0.0115 * (high - low)
    groups: list[list[Named]] = []
    for item in named:
        if groups:
            previous = groups[-1][-1]
            room = item[0][0] - previous[0][0]
            if room < letter_d * (len(previous[1].trade) + 3):
                groups[-1].append(item)
                continue
        groups.append([item])
    return groups


def _column(axes: Axes, group: list[Named], *, row: float, due: list[float]) -> list[float]:
    """Names to the right of the last ends, the latest on top: the side on which no line passes.

    due : contract dates of the finish, whose marks stand at the height of the first name.
    """
    low, high = axes.get_xlim()
    right = group[-1][0][0] + (0.012 if len(group) == 1 else 0.035) * (high - low)
    for day in due:
        if group[-1][0][0] <= day < right + 0.12 * (high - low):
            right = max(right, day + 0.02 * (high - low))
    places = [-y for y in apart([-end[1] for end, _ in reversed(group)], gap=row)]
    for (end, line), place in zip(reversed(group), places, strict=True):
        if len(group) > 1:
            axes.plot(
                [end[0], right], [end[1], place], color=line.colour, linestyle=line.dashes, linewidth=0.8
            )
        axes.text(right, place, f" {words(line.trade)}", va="center", path_effects=HALO)
    return places


def _pile(axes: Axes, group: list[Named], *, row: float) -> list[float]:
    """Names above the ends, the earliest on top."""
    top = max(end[1] for end, _ in group)
    places = [top + row * (len(group) - k) for k in range(len(group))]
    for (end, line), place in zip(group, places, strict=True):
        axes.plot([end[0]] * 2, [end[1], place], color=line.colour, linestyle=line.dashes, linewidth=0.8)
        axes.text(end[0], place, f" {words(line.trade)}", va="center", path_effects=HALO)
    return places


def _contracts(axes: Axes, framed: Framed, *, top: float) -> None:
    for up, due in enumerate(dues(framed, FINISH)):
        mark_contract(axes, due, level=top, colour=BLACK, corner="upper center", up=up)
    for due in dues(framed, CLOSED):
        mark_contract(axes, due, level=due.level or 0.0, colour=BLACK, corner="lower right")
