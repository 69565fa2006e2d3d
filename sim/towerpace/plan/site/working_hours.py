"""Working hours of a calendar, day by day: its usual week, other hours between dates, days off."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from towerpace.scenario.schema import Calendar
from towerpace.units import DAY_MIN, Ints

Spans = Sequence[tuple[int, int]]


class OtherHours(NamedTuple):
    """Hours of some weekdays from one day to another. week : Monday first, None where the usual ones stay."""

    first: date
    last: date
    week: tuple[Spans | None, ...]


class Hours(NamedTuple):
    """All that a calendar says of its hours, to be told from another's."""

    week: tuple[Spans, ...]
    closed: tuple[date, ...]
    closed_spans: tuple[tuple[date, date], ...]
    others: tuple[OtherHours, ...]

    def off(self) -> set[date]:
        """Days without work."""
        off = set(self.closed)
        for first, last in self.closed_spans:
            off.update(first + timedelta(days=k) for k in range((last - first).days + 1))
        return off


def hours_stated(calendar: Calendar) -> Hours:
    """What a calendar says of its hours."""
    spans = tuple((span.from_, span.to) for span in calendar.closed_spans)
    others = tuple(OtherHours(dated.from_, dated.to, dated.week.days()) for dated in calendar.dated)
    return Hours(calendar.week.days(), calendar.closed, spans, others)


def calendar_shifts(calendar: Calendar, *, start: date, days: int) -> Ints:
    """Shifts of a calendar over the project, (n, 2); the same array for the same calendar. [min]"""
    return _shifts(hours_stated(calendar), start, days)


@lru_cache(maxsize=64)
def _shifts(hours: Hours, start: date, days: int) -> Ints:
    return _touching_joined(_spans((k, spans) for k, _, spans in _days(hours, start, days)))


def hours_added(calendar: Calendar, dated: int, *, start: date, days: int) -> Ints:
    """Spans in which a calendar works by some of its dated hours and not by its week, (n, 2). [min]"""
    hours = hours_stated(calendar)
    longer = (
        (k, _without(spans, hours.week[(start + timedelta(days=k)).weekday()]))
        for k, by, spans in _days(hours, start, days)
        if by == dated
    )
    return _spans(longer)


def _days(hours: Hours, start: date, days: int) -> Iterator[tuple[int, int, Spans]]:
    """Every working day: its number, the dated hours that it follows (-1 the usual week), and its spans."""
    off = hours.off()
    for k in range(days):
        day = start + timedelta(days=k)
        if day not in off:
            by, spans = -1, hours.week[day.weekday()]
            for number, other in enumerate(hours.others):
                own = other.week[day.weekday()]
                if own is not None and other.first <= day <= other.last:
                    by, spans = number, own
            yield k, by, spans


def _spans(days: Iterator[tuple[int, Spans]]) -> Ints:
    """Spans of numbered days, (n, 2). [min]"""
    spans = [(k * DAY_MIN + a, k * DAY_MIN + b) for k, day in days for a, b in day]
    return np.array(spans, dtype=np.int64).reshape(-1, 2)


def _without(day: Spans, usual: Spans) -> list[tuple[int, int]]:
    """What of a day's spans lies outside its usual ones."""
    left = []
    for a, b in day:
        since = a
        for first, last in usual:
            if since < first < b:
                left.append((since, first))
            if first < b and last > since:
                since = max(since, last)
        if since < b:
            left.append((since, b))
    return left


def in_either(a: Ints, b: Ints) -> Ints:
    """Minutes in either of two lists of shifts, (n, 2); shifts that overlap or touch become one. [min]"""
    both = np.concatenate([a, b])
    both = both[np.lexsort((both[:, 1], both[:, 0]))]
    both[:, 1] = np.maximum.accumulate(both[:, 1])
    return _touching_joined(both)


def _touching_joined(spans: Ints) -> Ints:
    """Ascending spans, (n, 2), those that touch or overlap as one. [min]"""
    begins = np.ones(len(spans), dtype=np.bool_)
    begins[1:] = spans[1:, 0] > spans[:-1, 1]
    return np.stack((spans[begins, 0], spans[np.append(begins[1:], True)[: len(spans)], 1]), axis=1)
