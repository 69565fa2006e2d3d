"""Dates to mark along an axis: Mondays, or firsts of months, never more than there is room for."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from towerpace.answers.said.people import MONTHS
from towerpace.render.figures.style import EPOCH

_WEEKS = (1, 2)
_STEPS = (1, 2, 3, 6, 12, 24, 60)  # [months]


def ticks(low: float, high: float, *, most: int) -> list[tuple[float, str, str]]:
    """Places with their words in two lines, the year below the first and wherever it changes.

    low, high : ends of the axis. [d since 1970-01-01] most : marks at the most.

    >>> ticks(20900, 20925, most=4)
    [(20906.0, '29 Mar', '2027'), (20913.0, '5 Apr', ''), (20920.0, '12 Apr', '')]
    """
    first, last = (EPOCH + timedelta(days=number) for number in (low, high))
    dates = next((days for days in _choices(first, last) if len(days) <= most), [])
    labels = []
    for k, at in enumerate(dates):
        upper = MONTHS[at.month - 1] if _of_months(dates) else f"{at.day} {MONTHS[at.month - 1]}"
        lower = str(at.year) if k == 0 or at.year != dates[k - 1].year else ""
        labels.append((float((at - EPOCH).days), upper, lower))
    return labels


def _of_months(days: list[date]) -> bool:
    return all(at.day == 1 for at in days)


def _choices(first: date, last: date) -> Iterator[list[date]]:
    monday = first + timedelta(days=-first.weekday() % 7)
    for weeks in _WEEKS:
        count = max(0, (last - monday).days // (7 * weeks) + 1)
        yield [monday + timedelta(days=7 * weeks * k) for k in range(count)]
    for step in _STEPS:
        months = range(first.year * 12 + first.month - 1, last.year * 12 + last.month)
        days = [date(m // 12, m % 12 + 1, 1) for m in months if m % step == 0]
        yield [at for at in days if first <= at <= last]
