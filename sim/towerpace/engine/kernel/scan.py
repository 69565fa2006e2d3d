"""The questions of `engine.openings`, answered hour by hour from the weather, without building its spans.

A bad hour h of a limit stops the work from 60 h to 60 h + 60 + restart: the union of these is what
`weather.limits.stop_spans` makes, since a clear gap no longer than the wait is covered by it.
The open minutes of a window are the spans of its calendar less the stops of each of its limits.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from towerpace.engine.kernel.columns import (
    BELOW,
    CALENDAR,
    CURSORS,
    DAY_H,
    END_LIMIT,
    END_SPAN,
    FIRST_LIMIT,
    FROM,
    HOUR_MIN,
    LIMIT_COLUMNS,
    LIMITS,
    N_HOURS,
    NONE,
    RECORD_HOURS,
    RESTART,
    ROWS,
    SHIFT_END,
    SPAN_COLUMNS,
    SPANS,
    TO,
    VARIABLE,
    WIND,
    WINDOW_COLUMNS,
    WINDOWS,
)
from towerpace.engine.kernel.jit import part

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]


class Arrays(NamedTuple):
    """All that the kernel reads and writes in a trial.

    plan, site : as `columns` says. bounds : ratio and bound of each limit. factors : of each day's wind. [-]
    values : of the record, hour by hour, variable after variable.
    """

    plan: Ints
    site: Ints
    bounds: Floats
    factors: Floats
    values: Floats


@part
def bad(a: Arrays, limit: int, hour: int) -> bool:
    """Whether an hour breaks a limit; the same products in the same order as `weather.limits.stopped`."""
    own = a.plan[LIMITS] + limit * LIMIT_COLUMNS
    day = hour // DAY_H
    row = a.site[a.plan[ROWS] + day] * DAY_H + hour - day * DAY_H
    value = a.values[a.plan[own + VARIABLE] * a.site[RECORD_HOURS] + row]
    if a.plan[own + WIND]:
        value = value * a.factors[day]
    scaled = a.bounds[2 * limit] * value
    if a.plan[own + BELOW]:
        return bool(scaled < a.bounds[2 * limit + 1])
    return bool(scaled > a.bounds[2 * limit + 1])


@part
def clear_from(a: Arrays, limit: int, minute: int, until: int) -> int:
    """First minute from here on that a limit does not stop; `until` or more if there is none before."""
    reach = HOUR_MIN + a.plan[a.plan[LIMITS] + limit * LIMIT_COLUMNS + RESTART]
    found = True
    while found and minute < until:
        found = False
        hour = min(minute // HOUR_MIN, a.site[N_HOURS] - 1)
        while hour >= 0 and hour * HOUR_MIN + reach > minute:
            if bad(a, limit, hour):
                minute = hour * HOUR_MIN + reach
                found = True
                break
            hour -= 1
    return minute


@part
def first_open(a: Arrays, window: int, minute: int, until: int) -> int:
    """First minute from here on that no limit stops; `until` or more if there is none before."""
    own = a.plan[WINDOWS] + window * WINDOW_COLUMNS
    first, end = a.plan[own + FIRST_LIMIT], a.plan[own + END_LIMIT]
    limit, agreed = first, 0
    while agreed < end - first and minute < until:
        clear = clear_from(a, limit, minute, until)
        agreed = 1 if clear > minute else agreed + 1
        minute = clear
        limit = first if limit + 1 == end else limit + 1
    return minute


@part
def first_stop(a: Arrays, limits: tuple[int, int], minute: int, until: int) -> int:
    """First minute after this clear one that a limit of [from, to) stops, or `until` if that comes first."""
    first, end = limits
    if first == end:
        return until
    for hour in range(minute // HOUR_MIN + 1, min((until - 1) // HOUR_MIN + 1, a.site[N_HOURS])):
        for limit in range(first, end):
            if bad(a, limit, hour):
                return hour * HOUR_MIN
    return until


@part
def span_at(a: Arrays, window: int, minute: int) -> int:
    """First span of the window's calendar that ends after a minute; minutes must never go back."""
    own = a.plan[WINDOWS] + window * WINDOW_COLUMNS
    cursor = a.plan[CURSORS] + a.plan[own + CALENDAR]
    span, end = a.site[cursor], a.plan[own + END_SPAN]
    while span < end and a.plan[a.plan[SPANS] + span * SPAN_COLUMNS + TO] <= minute:
        span += 1
    a.site[cursor] = span
    return int(span)


@part
def minutes_left(a: Arrays, window: int, minute: int) -> int:
    """Minutes to the end of the shift; NONE if the window is closed in this minute."""
    number = span_at(a, window, minute)
    if number == a.plan[a.plan[WINDOWS] + window * WINDOW_COLUMNS + END_SPAN]:
        return NONE
    span = a.plan[SPANS] + number * SPAN_COLUMNS
    if a.plan[span + FROM] > minute or first_open(a, window, minute, a.plan[span + TO]) > minute:
        return NONE
    return int(a.plan[span + SHIFT_END] - minute)


@part
def next_start(a: Arrays, window: int, minute: int, expected: int) -> int:
    """First minute from here on that is open with `expected` minutes left in its shift, or NONE."""
    end = a.plan[a.plan[WINDOWS] + window * WINDOW_COLUMNS + END_SPAN]
    for number in range(span_at(a, window, minute), end):
        span = a.plan[SPANS] + number * SPAN_COLUMNS
        until = a.plan[span + TO]
        start = first_open(a, window, max(minute, a.plan[span + FROM]), until)
        if start < until and start + expected <= a.plan[span + SHIFT_END]:
            return int(start)
    return NONE


@part
def done(a: Arrays, window: int, minute: int, work: int, unbroken: bool) -> int:
    """Minute at which `work` open minutes have passed (in one piece, if unbroken), or NONE."""
    if work == 0:
        return minute
    own = a.plan[WINDOWS] + window * WINDOW_COLUMNS
    limits = (a.plan[own + FIRST_LIMIT], a.plan[own + END_LIMIT])
    left, stop = work, minute
    for number in range(span_at(a, window, minute), a.plan[own + END_SPAN]):
        span = a.plan[SPANS] + number * SPAN_COLUMNS
        until = a.plan[span + TO]
        at = max(minute, a.plan[span + FROM])
        while at < until:
            at = first_open(a, window, at, until)
            if at >= until:
                break
            if unbroken and at > stop:
                left = work  # closed in between; shifts that touch leave no minute closed
            stop = first_stop(a, limits, at, min(until, at + left))
            if at + left <= stop:
                return int(at + left)
            left -= stop - at
            at = stop
    return NONE
