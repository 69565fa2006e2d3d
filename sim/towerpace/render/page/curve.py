"""The curve of the first page: how many trials have finished by each day, drawn for wide and narrow screens.

Drawn here, not taken from the folder: its colours are those of the page, light or dark, and on a phone its
letters are of the size of the text.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import timedelta
from html import escape
from typing import TYPE_CHECKING

import numpy as np

from towerpace.answers.said.people import day, share
from towerpace.render.figures.marks import FINISH, Due, dues, with_near
from towerpace.render.figures.style import EPOCH, day_number, day_numbers
from towerpace.render.frames import Framed
from towerpace.render.page.curve_dates import ticks
from towerpace.render.page.model import Picture
from towerpace.units import Floats

if TYPE_CHECKING:
    pass


_TITLE = "Share of the trials that have finished by each day"
_ABOUT = (
    "The line climbs from no trial to all of them. Dots mark percentiles, bars their 95 % intervals. "
    "The numbers stand in the tables below."
)
LEAST_D = 21.0  # days shown at least: two or three Mondays
_SHARES = (0, 10, 50, 80, 90, 100)


@dataclass(frozen=True)
class _CurveSheet:
    """A drawing area. Sizes in the units of the drawing, which are pixels where it is shown in full."""

    width: float
    height: float
    letter: float
    left: float
    right: float
    top: float
    bottom: float
    low: float
    high: float
    marks: int

    def x(self, number: float) -> float:
        return self.left + (self.width - self.left - self.right) * (number - self.low) / (
            self.high - self.low
        )

    def y(self, percent: float) -> float:
        return self.height - self.bottom - (self.height - self.bottom - self.top) * percent / 105


def curve(framed: Framed) -> Picture:
    """The curve with percentiles, their intervals, and the contract dates of the finish."""
    days = day_numbers(framed["finish"]["finish"])
    due = dues(framed, FINISH)
    label = 20.0 * len(due)
    wide = _CurveSheet(820, 400 + label, 14, 46, 14, 14 + label, 46, *_reach(framed, days, due, words=0.2), 8)
    narrow = _CurveSheet(
        350, 330 + label, 13, 38, 8, 12 + label, 44, *_reach(framed, days, due, words=0.44), 4
    )
    drawn = ["".join(_drawn(framed, days, due, sheet)) for sheet in (wide, narrow)]
    return Picture(_key(framed), drawn[0], _TITLE, _ABOUT, wide.height / wide.width, narrow=drawn[1])


def _reach(framed: Framed, days: Floats, due: Sequence[Due], *, words: float) -> tuple[float, float]:
    """First and last day shown; `words` : share of the width that the words of a percentile need. [d]"""
    known = days[np.isfinite(days)]
    if not known.size:
        known = np.array([day_number(framed.run.last)])
    low, high = with_near(known, [*due])
    high += 0.06 * max(high - low, 14.0)
    # The words of the lowest percentile must end before the curve gets there.
    lowest = framed["percentiles"].iloc[:1]
    ends = np.concatenate([day_numbers(lowest[name]) for name in ("finish_low", "finish")])
    first = float(np.nanmin(ends)) if np.isfinite(ends).any() else low
    return min(low, high - LEAST_D, (first - words * high) / (1 - words)), high


def _drawn(framed: Framed, days: Floats, due: Sequence[Due], sheet: _CurveSheet) -> Iterator[str]:
    yield (
        f'<svg viewBox="0 0 {sheet.width:g} {sheet.height:g}" role="img" aria-label="{escape(_TITLE)}" '
        f'aria-describedby="{_key(framed)}-about" font-size="{sheet.letter:g}" xmlns="http://www.w3.org/2000/svg">'
    )
    yield from _axes(sheet)
    yield from _percentiles(framed, sheet)
    yield from _steps(days, sheet)
    yield from _dots(framed, sheet)
    for k, contract in enumerate(due):
        yield from _due(contract, sheet, row=k)
    yield "</svg>"


def _axes(sheet: _CurveSheet) -> Iterator[str]:
    floor = sheet.y(0)
    for percent in _SHARES:
        at = sheet.y(percent) + 0.35 * sheet.letter
        yield _text(sheet.left - 8, at, f"{percent}", hand="end", look="quiet")
    yield _line((sheet.left, floor), (sheet.width - sheet.right, floor), "axis")
    for number, upper, lower in ticks(sheet.low, sheet.high, most=sheet.marks):
        x = sheet.x(number)
        yield _line((x, floor), (x, floor + 5), "axis")
        yield _text(x, floor + 8 + sheet.letter, upper, look="quiet")
        yield _text(x, floor + 10 + 2 * sheet.letter, lower, look="quiet")
    yield _text(sheet.left, sheet.y(105) - 2, "% of trials finished", hand="start", look="quiet")


def _percentiles(framed: Framed, sheet: _CurveSheet) -> Iterator[str]:
    """Lines across, bars for the intervals, and the dates in words."""
    table = framed["percentiles"]
    columns = (day_numbers(table[name]) for name in ("finish", "finish_low", "finish_high"))
    for name, at, low, high in zip(table["percentile"].tolist(), *columns, strict=True):
        y = sheet.y(_percent(name))
        known = bool(np.isfinite(at))
        end = sheet.x(at) if known else sheet.width - sheet.right
        yield _line((sheet.left, y), (end, y), "guide")
        if known:
            yield _line((end, y), (end, sheet.y(0)), "guide")
        if np.isfinite(low):
            right = sheet.x(high) if np.isfinite(high) else sheet.width - sheet.right
            # An interval of one day is a bar of that day, not nothing.
            wide = max(right - sheet.x(low), 3.0)
            size = f'x="{sheet.x(low):.1f}" y="{y - 5:.1f}" width="{wide:.1f}" height="10"'
            yield f'<rect class="interval" {size}/>'
        when = day(EPOCH + timedelta(days=float(at))) if known else "after the last day"
        said = f"{name}\u2002{when}"
        yield _text(sheet.left + 6, y - 5, said, hand="start", look="strong" if name == "P80" else "plain")


def _dots(framed: Framed, sheet: _CurveSheet) -> Iterator[str]:
    table = framed["percentiles"]
    for name, at in zip(table["percentile"].tolist(), day_numbers(table["finish"]), strict=True):
        if np.isfinite(at):
            size = 5 if name == "P80" else 3.5
            centre = f'cx="{sheet.x(at):.1f}" cy="{sheet.y(_percent(name)):.1f}"'
            yield f'<circle class="dot" {centre} r="{size:g}"/>'


def _percent(name: str) -> int:
    """80 of P80."""
    return int(name.removeprefix("P"))


def _steps(days: Floats, sheet: _CurveSheet) -> Iterator[str]:
    known = np.sort(days[np.isfinite(days)])
    points = [f"M{sheet.x(sheet.low):.1f} {sheet.y(0):.1f}"]
    for at in np.unique(known):
        share = 100 * np.count_nonzero(known <= at) / len(days)
        points.append(f"H{sheet.x(at):.1f}V{sheet.y(share):.1f}")
    yield f'<path class="steps" d="{"".join(points)}H{sheet.width - sheet.right:.1f}"/>'


def _due(due: Due, sheet: _CurveSheet, *, row: int) -> Iterator[str]:
    """A contract date: a line down, its words above the curve where nothing else stands."""
    low, high = sheet.left, sheet.width - sheet.right
    inside = sheet.low <= due.day <= sheet.high
    x = min(max(sheet.x(due.day), low), high)
    y = 12 + 20.0 * row + 0.2 * sheet.letter
    if inside:
        yield _line((x, y + 6), (x, sheet.y(0)), "due")
    at = EPOCH + timedelta(days=due.day)
    arrow = "" if inside else (" →" if due.day > sheet.high else " ←")
    said = f"{due.name.replace('_', ' ')} {day(at)}: met in {share(due.chance)}{arrow}"
    # Words begin at the line, or as far to its left as they need; a letter is 0.58 of its height wide.
    start = max(low, min(x, sheet.width - 0.58 * sheet.letter * len(said)))
    yield _text(start, y, said, hand="start", look="due-words")


def _text(x: float, y: float, said: str, *, hand: str = "middle", look: str = "plain") -> str:
    return f'<text class="{look}" x="{x:.1f}" y="{y:.1f}" text-anchor="{hand}">{escape(said)}</text>'


def _line(start: tuple[float, float], end: tuple[float, float], look: str) -> str:
    (x1, y1), (x2, y2) = start, end
    return f'<line class="{look}" x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}"/>'


def _key(framed: Framed) -> str:
    return f"{framed.answer.question}-finish"
