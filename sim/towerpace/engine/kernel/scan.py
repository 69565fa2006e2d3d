"""The questions of `engine.openings`, answered hour by hour from the weather, without building its spans.

A bad hour h of a limit stops the work from 60 h to 60 h + 60 + restart: the union of these is what
`climate.limits.stop_spans` makes, since a clear gap no longer than the wait is covered by it.
The open minutes of a window are the spans of its calendar less the stops of each of its limits.
"""

from __future__ import annotations

import numpy as np

from towerpace.compiling.jit import inline_part, part
from towerpace.engine.kernel.arrays import DAY_H, NONE, WindowArrays
from towerpace.units import HOUR_MIN


@inline_part
def wide(stamp: np.int32) -> int:
    """A stamp as wide as other minutes: what is handed it is compiled once for both."""
    # To the compiled code an int64 is an int; uncompiled code may count with it alike.
    return np.int64(stamp)  # type: ignore[return-value]  # compiled code has whole numbers of one size


@inline_part
def is_bad(windows: WindowArrays, limit: int, hour: int) -> bool:
    """Whether an hour breaks a limit; the same products in the same order as `climate.limits.stopped`."""
    day = hour // DAY_H
    record_hour = windows.day[day] * DAY_H + hour - day * DAY_H
    value = windows.value[windows.variable[limit], record_hour]
    if windows.is_wind[limit]:
        value = value * windows.wind_factor[day]
    scaled = windows.ratio[limit] * value
    if windows.is_below[limit]:
        return bool(scaled < windows.bound[limit])
    return bool(scaled > windows.bound[limit])


@inline_part
def clear_from(windows: WindowArrays, limit: int, minute: int, until: int) -> int:
    """First minute from here on that a limit does not stop; `until` or more if there is none before."""
    reach = HOUR_MIN + windows.restart_min[limit]
    is_stopped = True
    while is_stopped and minute < until:
        is_stopped = False
        hour = min(minute // HOUR_MIN, windows.n_hours - 1)
        while hour >= 0 and hour * HOUR_MIN + reach > minute:
            if is_bad(windows, limit, hour):
                minute = hour * HOUR_MIN + reach
                is_stopped = True
                break
            hour -= 1
    return int(minute)


@inline_part
def first_open(windows: WindowArrays, window: int, minute: int, until: int) -> int:
    """First minute from here on that no limit stops; `until` or more if there is none before."""
    first, end = windows.first_limit[window], windows.end_limit[window]
    limit, agreed = first, 0
    while agreed < end - first and minute < until:
        clear = clear_from(windows, limit, minute, until)
        agreed = 1 if clear > minute else agreed + 1
        minute = clear
        limit = first if limit + 1 == end else limit + 1
    return minute


@inline_part
def first_stop(windows: WindowArrays, limits: tuple[int, int], minute: int, until: int) -> int:
    """First minute after this clear one that a limit of [from, to) stops, or `until` if that comes first."""
    first, end = limits
    if first == end:
        return until
    for hour in range(minute // HOUR_MIN + 1, min((until - 1) // HOUR_MIN + 1, windows.n_hours)):
        for limit in range(first, end):
            if is_bad(windows, limit, hour):
                return hour * HOUR_MIN
    return until


@inline_part
def span_at(windows: WindowArrays, window: int, minute: int) -> int:
    """First span of the window's calendar that ends after a minute; minutes must never go back."""
    calendar = windows.calendar[window]
    span, end = windows.cursor[calendar], windows.end_span[window]
    while span < end and windows.closes[span] <= minute:
        span += 1
    windows.cursor[calendar] = span
    return int(span)


@inline_part
def minutes_left(windows: WindowArrays, window: int, minute: int) -> int:
    """Minutes to the end of the shift; NONE if the window is closed in this minute."""
    span = span_at(windows, window, minute)
    if span == windows.end_span[window] or windows.opens[span] > minute:
        return NONE
    if first_open(windows, window, minute, windows.closes[span]) > minute:
        return NONE
    return int(windows.shift_end[span] - minute)


@part
def next_start(windows: WindowArrays, window: int, minute: int, expected: int) -> int:
    """First minute from here on that is open with `expected` minutes left in its shift, or NONE."""
    for span in range(span_at(windows, window, minute), windows.end_span[window]):
        until = windows.closes[span]
        start = first_open(windows, window, max(minute, windows.opens[span]), until)
        if start < until and start + expected <= windows.shift_end[span]:
            return int(start)
    return NONE


@inline_part
def done(windows: WindowArrays, window: int, minute: int, work: int, unbroken: bool) -> int:
    """Minute at which `work` open minutes have passed (in one piece, if unbroken), or NONE."""
    if work == 0:
        return minute
    limits = (windows.first_limit[window], windows.end_limit[window])
    left, stop = work, minute
    for span in range(span_at(windows, window, minute), windows.end_span[window]):
        until = windows.closes[span]
        at = max(minute, windows.opens[span])
        while at < until:
            at = first_open(windows, window, at, until)
            if at >= until:
                break
            if unbroken and at > stop:
                left = work  # closed in between; shifts that touch leave no minute closed
            stop = first_stop(windows, limits, at, min(until, at + left))
            if at + left <= stop:
                return int(at + left)
            left -= stop - at
            at = stop
    return NONE
