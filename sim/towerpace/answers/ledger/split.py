"""Every minute of every step under one cause, found by walking the open minutes of its window.

The causes and their order are said in `waits`. Compiled with numba, or run as it stands without.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

from towerpace.answers.ledger import arrays as arrays_module
from towerpace.answers.ledger import shifts, tangled
from towerpace.answers.ledger.arrays import SplitArrays
from towerpace.answers.ledger.shifts import minutes_before, span_at
from towerpace.answers.ledger.tangled import begun, fill_levels, forget_looks, note_events, untangle
from towerpace.compiling.addresses import at_addresses
from towerpace.compiling.jit import entry, inline_part, part, trial_entry
from towerpace.engine.kernel.arrays import NONE, WindowArrays
from towerpace.engine.kernel.scan import clear_from, first_open, first_stop, wide
from towerpace.engine.kernel.stamp import stamp_of_sources
from towerpace.plan.lists import START, UNBROKEN, WORK
from towerpace.units import Ints

# numpy's own, as numba compiles a function anew for each plain truth value that is handed to it.
BEFORE_START, WHILE_DONE = np.array([True, False])


@inline_part
def shift_minutes(arrays: SplitArrays, calendar: int, since: int, until: int) -> int:
    """Minutes of [since, until) in the shifts of a calendar. [min]"""
    return minutes_before(arrays.shifts, calendar, until) - minutes_before(arrays.shifts, calendar, since)


@part
def book_closed(arrays: SplitArrays, step: int, since: int, until: int, before: bool) -> int:
    """Book the closed minutes of [since, until) and return the others. [min]

    before : whether these are minutes before the start: then those too late in the shift are booked too,
        and the rest is blamed on pools and lines where that takes more than one look.
    """
    steps, windows, causes = arrays.steps, arrays.windows, arrays.causes
    book = arrays.waiting if before else arrays.doing
    window, row, spans = steps.window[step], arrays.row[step], arrays.spans
    calendar = windows.calendar[window]
    must_fit = before and steps.mode[step] == START
    is_looked_at = must_fit or (before and arrays.is_tangled[step])
    if is_looked_at or windows.first_limit[window] < windows.end_limit[window]:
        covered, left, span = 0, 0, span_at(spans, calendar, since)
        while spans.begin[span] < until:
            at, end = max(since, spans.begin[span]), min(until, spans.end[span])
            covered += end - at
            last = arrays.shift_end[span] - steps.expected[step] + 1 if must_fit else end
            left += book_span(arrays, step, (at, end), last, before)
            span += 1
    else:
        left = covered = minutes_before(spans, calendar, until) - minutes_before(spans, calendar, since)
    if covered < until - since:
        in_shift = covered
        if arrays.has_stops[calendar]:
            in_shift = shift_minutes(arrays, calendar, since, until)
            book[row, causes.stops] += in_shift - covered
        book[row, causes.shift] += until - since - in_shift
    return left


@inline_part
def book_span(arrays: SplitArrays, step: int, span: tuple[int, int], last: int, before: bool) -> int:
    """Book the minutes of a piece of one span that a limit stops, or that are open from `last` on."""
    windows, book = arrays.windows, arrays.waiting if before else arrays.doing
    (at, end), row, window = span, arrays.row[step], arrays.steps.window[step]
    first, limits = windows.first_limit[window], windows.end_limit[window]
    left = 0
    while at < end:
        stopper, clear = first_stopper(windows, (first, limits), at, end)
        if stopper < limits:
            stop = first_stop(windows, (first, stopper), at, clear)  # a limit named earlier takes the blame
            book[row, arrays.limit_cause[stopper]] += stop - at
        else:
            stop = first_stop(windows, (first, limits), at, end)
            in_time = max(at, min(stop, last))
            left += in_time - at
            book[row, arrays.causes.late] += stop - in_time
            if before and arrays.is_tangled[step]:
                untangle(arrays, step, at, in_time)
        at = stop
    return left


@inline_part
def first_stopper(windows: WindowArrays, limits: tuple[int, int], at: int, end: int) -> tuple[int, int]:
    """First of the limits [from, to) that stops a minute, `to` if none does, and until when it does."""
    first, limit_end = limits
    for limit in range(first, limit_end):
        clear = min(clear_from(windows, limit, at, end), end)
        if clear > at:
            return limit, clear
    return limit_end, end


@inline_part
def split_step(arrays: SplitArrays, step: int) -> None:
    """All minutes of one step."""
    steps, row = arrays.steps, arrays.row[step]
    ready, finished = wide(steps.ready[step]), wide(steps.finished[step])
    if ready == finished:  # it never came, or took no time
        return
    start, ended = begun(arrays, step), finished if finished != NONE else arrays.horizon
    if start > ready:
        rest, short = book_waiting(arrays, step, ready, start), arrays.first_pool_cause[step]
        if rest > 0 and short != NONE:  # what was seen to wait needs no pool
            arrays.waiting[row, short] += rest
    worked = book_pauses(arrays, step, start, ended)
    if finished != NONE and not steps.skip[step]:
        # What it took beyond its work: the way of its positioned unit, or work lost and begun again.
        beyond = worked - steps.work[step]
        is_unbroken = steps.mode[step] == UNBROKEN
        arrays.doing[row, arrays.causes.again if is_unbroken else arrays.causes.move] += beyond
        worked -= beyond
    arrays.doing[row, arrays.work_cause[step]] += worked


@inline_part
def book_waiting(arrays: SplitArrays, step: int, ready: int, start: int) -> int:
    """Book the minutes before the start, and return those in which the window let the step start. [min]"""
    if arrays.steps.window[step] != NONE:
        return book_closed(arrays, step, ready, start, BEFORE_START)
    if arrays.is_tangled[step]:
        untangle(arrays, step, ready, start)
    return start - ready


@inline_part
def book_pauses(arrays: SplitArrays, step: int, start: int, ended: int) -> int:
    """Book the minutes in which work paused, note what befell lifts, and return the others. [min]"""
    if arrays.steps.window[step] == NONE:
        return ended - start
    if arrays.steps.mode[step] in (WORK, UNBROKEN):
        work, is_done = wide(arrays.steps.work[step]), arrays.steps.finished[step] != NONE
        # Of one that was seen only its window tells.
        if is_done and arrays.has_pins == 0 and (arrays.is_plain[step] or ended - start == work):
            arrays.doing[arrays.row[step], arrays.causes.shift] += ended - start - work
            return work
        return book_closed(arrays, step, start, ended, WHILE_DONE)
    if ended > start:
        note_lift(arrays, step, start, ended)
    return ended - start


@inline_part
def note_lift(arrays: SplitArrays, step: int, start: int, ended: int) -> None:
    """Note what befell a step that must not be interrupted."""
    in_one_span = lies_in_one_span(arrays, step, start, ended)
    is_caught = meets_weather(arrays, step, start, ended, in_one_span)
    is_past = not in_one_span and runs_past_shift(arrays, step, start, ended)
    arrays.caught[step], arrays.past_shift[step] = is_caught, is_past
    if arrays.is_lift[step]:
        arrays.lifts[0] += is_caught
        arrays.lifts[1] += is_past


@inline_part
def lies_in_one_span(arrays: SplitArrays, step: int, since: int, until: int) -> bool:
    """Whether one span of the window, and with it one shift, holds all of [since, until)."""
    spans = arrays.spans
    span = span_at(spans, arrays.windows.calendar[arrays.steps.window[step]], since)
    return bool(spans.begin[span] <= since and until <= spans.end[span])


@inline_part
def meets_weather(arrays: SplitArrays, step: int, since: int, until: int, in_one_span: bool) -> bool:
    """Whether a limit stops any minute of [since, until), in the shift or not, or a stop a shift minute."""
    windows, window = arrays.windows, arrays.steps.window[step]
    limits = (windows.first_limit[window], windows.end_limit[window])
    # What has not been seen started in an open minute.
    is_caught = arrays.has_pins != 0 and first_open(windows, window, since, until) > since
    if is_caught or first_stop(windows, limits, since, until) < until:
        return True
    calendar, spans = windows.calendar[window], arrays.spans
    if in_one_span or not arrays.has_stops[calendar]:
        return False
    covered = minutes_before(spans, calendar, until) - minutes_before(spans, calendar, since)
    return shift_minutes(arrays, calendar, since, until) > covered


@inline_part
def runs_past_shift(arrays: SplitArrays, step: int, start: int, ended: int) -> bool:
    """Whether a step that starts in a shift ends after it."""
    shifts = arrays.shifts
    shift = span_at(shifts, arrays.windows.calendar[arrays.steps.window[step]], start)
    return bool(shifts.begin[shift] <= start and ended > shifts.end[shift])


arrays_at = at_addresses(SplitArrays)


def _stamped(stamp: int) -> tuple[Callable[..., bool], ...]:
    """The entries, with the stamp of the sources that they are compiled from."""

    def note_all(table: Any) -> bool:
        """Write down the events at the pools."""
        arrays = arrays_at(table)
        for pool in range(len(arrays.units)):
            note_events(arrays, pool)
        return stamp >= 0

    def fill_all(table: Any) -> bool:
        """Fill in the levels of pools; the events at each are in order."""
        fill_levels(arrays_at(table))
        return stamp >= 0

    def split_all(table: Any) -> bool:
        """Split the minutes of every step."""
        arrays = arrays_at(table)
        forget_looks(arrays)
        for step in range(len(arrays.row)):
            split_step(arrays, step)
        return stamp >= 0

    def split_waits(table: Any, steps: Ints, since: Ints, start: Ints) -> bool:
        """Split the minutes [since, start) of some steps that no pool held; the rest was a line."""
        arrays = arrays_at(table)
        for k in range(len(steps)):
            step, rest = steps[k], start[k] - since[k]
            if arrays.steps.window[step] != NONE:
                rest = book_closed(arrays, step, since[k], start[k], BEFORE_START)
            arrays.waiting[arrays.row[step], arrays.causes.line] += rest
        return stamp >= 0

    return *map(trial_entry, (note_all, fill_all, split_all)), entry(split_waits)


note_all, fill_all, split_all, split_waits = _stamped(
    stamp_of_sources(*map(Path, (arrays_module.__file__, shifts.__file__, tangled.__file__, __file__)))
)
