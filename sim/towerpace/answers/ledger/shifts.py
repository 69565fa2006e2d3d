"""The shifts of every calendar and their open spans, and where to begin looking for those of a day."""

from __future__ import annotations

from typing import Annotated, NamedTuple

import numpy as np

from towerpace.compiling.jit import inline_part
from towerpace.engine.kernel.arrays import Numbers, WindowArrays
from towerpace.engine.kernel.gather import starts
from towerpace.plan.model import Plan
from towerpace.units import DAY_MIN, Flags, Ints

NOT_TO_COME = 2**62


class SpanArrays(NamedTuple):
    """Spans of time of all calendars, and behind those of each one that never comes.

    begin, end : of each. before : minutes of its calendar's spans before it. [min]
    day : (n_calendars, n_days) first that ends after a day has begun; the last day stands for all behind it.
    """

    begin: Ints
    end: Ints
    before: Ints
    day: Annotated[Numbers, 2]


class Shifts(NamedTuple):
    """The shifts of a plan's calendars up to the horizon, and their open spans without weather.

    shift_end : of the shift that each span lies in. [min]
    has_stops : (n_calendars,) whether some minute of a shift is in no span.
    """

    shifts: SpanArrays
    spans: SpanArrays
    shift_end: Ints
    has_stops: Flags


@inline_part
def span_at(spans: SpanArrays, calendar: int, minute: int) -> int:
    """First span of a calendar that ends after a minute."""
    span = spans.day[calendar, min(minute // DAY_MIN, spans.day.shape[1] - 1)]
    # Most days have two spans: to add what is compared costs less than to guess how it will turn out.
    span += spans.end[span] <= minute
    span += spans.end[span] <= minute
    while spans.end[span] <= minute:
        span += 1
    return int(span)


@inline_part
def minutes_before(spans: SpanArrays, calendar: int, minute: int) -> int:
    """Minutes of a calendar's spans before a minute. [min]"""
    span = span_at(spans, calendar, minute)
    return int(spans.before[span] + max(minute - spans.begin[span], 0))


def shifts_of(plan: Plan, windows: WindowArrays) -> Shifts:
    """The shifts and spans of all calendars; windows of one calendar have the same, and differ in limits."""
    _, of_calendar = np.unique(windows.calendar, return_index=True)
    shifts, spans, ends = [], [], []
    for window in of_calendar.tolist():
        own = np.asarray(plan.windows[window].shifts, dtype=np.int64).reshape(-1, 2)
        shifts.append(np.minimum(own[own[:, 0] < plan.horizon], plan.horizon))
        chosen = slice(windows.first_span[window], windows.end_span[window])
        spans.append(np.stack((windows.opens[chosen], windows.closes[chosen]), axis=1))
        ends.append(np.append(windows.shift_end[chosen], NOT_TO_COME))
    last = max((int(own[-1, 0]) for own in shifts if len(own)), default=0)
    days = np.arange(last // DAY_MIN + 1) * DAY_MIN
    has_stops = np.array(
        [not np.array_equal(*pair) for pair in zip(shifts, spans, strict=True)], dtype=np.bool_
    )
    shift_end = np.concatenate([np.zeros(0, dtype=np.int64), *ends])
    return Shifts(_laid_end_to_end(shifts, days), _laid_end_to_end(spans, days), shift_end, has_stops)


def _laid_end_to_end(spans: list[Ints], days: Ints) -> SpanArrays:
    """The spans of some calendars, (n, 2) each, as one array; days : where each begins. [min]"""
    never = [[NOT_TO_COME, NOT_TO_COME]]
    together = np.concatenate(
        [np.zeros((0, 2), dtype=np.int64), *(np.append(own, never, axis=0) for own in spans)]
    )
    before = [starts(own[:, 1] - own[:, 0]) for own in spans]
    first = starts(np.array([len(own) + 1 for own in spans], dtype=np.int64))
    day = np.empty((len(spans), len(days)), dtype=np.int32)
    for k, own in enumerate(spans):
        day[k] = first[k] + np.searchsorted(own[:, 1], days, side="right")
    begin, end = together.T.copy()
    return SpanArrays(begin, end, np.concatenate([np.zeros(0, dtype=np.int64), *before]), day)
