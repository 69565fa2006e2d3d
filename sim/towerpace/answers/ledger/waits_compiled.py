"""The compiled half of `waits_fast`: what `waits` finds with spans, found by walking the open minutes.

Every function has its twin in `waits`, where the causes and their order are said.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from towerpace.answers.ledger import waits_tables, waits_tangled
from towerpace.answers.ledger.waits_tables import (
    AGAIN,
    FIRST_CAUSE,
    LATE,
    MOVED,
    OUTSIDE,
    SHIFT_ROW,
    SPAN_ROW,
    STOPPED,
    TANGLED,
    Keeping,
)
from towerpace.answers.ledger.waits_tangled import begun, free_units, name_events, untangle
from towerpace.engine.kernel.columns import (
    END_LIMIT,
    END_SPAN,
    EXPECTED,
    FIRST_LIMIT,
    FROM,
    HORIZON,
    MODE,
    N_STEPS,
    NONE,
    SHIFT_END,
    SPAN_COLUMNS,
    SPANS,
    STEP_COLUMNS,
    STEPS,
    TO,
    WINDOW,
    WINDOW_COLUMNS,
    WINDOWS,
)
from towerpace.engine.kernel.jit import entry, part, stamp_of_sources
from towerpace.engine.kernel.scan import Ints, clear_from, first_open, first_stop
from towerpace.plan.lists import START, UNBROKEN, WORK

DAY_MIN = 1440
Entry = Callable[[Keeping, Ints], bool]


@part
def shift_minutes(k: Keeping, window: int, minute: int) -> int:
    """Minutes of the window's shifts before a minute. [min]"""
    row = k.by_day[window, min(minute // DAY_MIN, k.by_day.shape[1] - 1), SHIFT_ROW]
    while k.shifts[row, 1] <= minute:
        row += 1
    return int(k.shifts[row, 2] + max(minute - k.shifts[row, 0], 0))


@part
def span_of(k: Keeping, window: int, minute: int) -> int:
    """First span of a window that ends after a minute."""
    plan = k.a.plan
    end = plan[plan[WINDOWS] + window * WINDOW_COLUMNS + END_SPAN]
    span = k.by_day[window, min(minute // DAY_MIN, k.by_day.shape[1] - 1), SPAN_ROW]
    while span < end and plan[plan[SPANS] + span * SPAN_COLUMNS + TO] <= minute:
        span += 1
    return int(span)


@part
def close(k: Keeping, step: int, since: int, until: int, before: bool) -> int:
    """Book the closed minutes of [since, until) and return the others.

    before : whether these are minutes before the start: then those too late in the shift are booked too,
        and the rest is blamed on pools and lines where that takes more than one look.
    """
    a, book = k.a, k.waiting if before else k.doing
    fact = a.plan[STEPS] + step * STEP_COLUMNS
    window, row = a.plan[fact + WINDOW], k.row[step]
    own = a.plan[WINDOWS] + window * WINDOW_COLUMNS
    in_shift = shift_minutes(k, window, until) - shift_minutes(k, window, since)
    book[row, k.named[OUTSIDE]] += until - since - in_shift
    fits = before and a.plan[fact + MODE] == START
    covered, left = 0, 0
    for number in range(span_of(k, window, since), a.plan[own + END_SPAN]):
        span = a.plan[SPANS] + number * SPAN_COLUMNS
        at, end = max(since, a.plan[span + FROM]), min(until, a.plan[span + TO])
        if at >= end:
            break
        covered += end - at
        last = a.plan[span + SHIFT_END] - a.plan[fact + EXPECTED] + 1 if fits else end
        left += walk(k, step, (at, end), last, before)
    book[row, k.named[STOPPED]] += in_shift - covered
    return left


@part
def walk(k: Keeping, step: int, span: tuple[int, int], last: int, before: bool) -> int:
    """Book the minutes of a piece of one span that a limit stops, or that are open from `last` on."""
    a, book = k.a, k.waiting if before else k.doing
    (at, end), row = span, k.row[step]
    own = a.plan[WINDOWS] + a.plan[a.plan[STEPS] + step * STEP_COLUMNS + WINDOW] * WINDOW_COLUMNS
    first, limits = a.plan[own + FIRST_LIMIT], a.plan[own + END_LIMIT]
    left = 0
    while at < end:
        stopper, clear = limits, end
        for limit in range(first, limits):
            clear = min(clear_from(a, limit, at, end), end)
            if clear > at:
                stopper = limit
                break
        if stopper < limits:
            stop = first_stop(a, (first, stopper), at, clear)  # a limit named earlier takes the blame over
            book[row, k.of_limit[stopper]] += stop - at
        else:
            stop = first_stop(a, (first, limits), at, end)
            in_time = max(at, min(stop, last))
            left += in_time - at
            book[row, k.named[LATE]] += stop - in_time
            if before and k.facts[step, TANGLED]:
                untangle(k, step, at, in_time)
        at = stop
    return left


@part
def split_step(k: Keeping, step: int) -> None:
    """All minutes of one step."""
    a = k.a
    ready, finished = int(k.ready[step]), int(k.finished[step])
    if ready == finished:  # it never came, or took no time
        return
    start, ended = begun(k, step), finished if finished != NONE else a.plan[HORIZON]
    own, row = a.plan[STEPS] + step * STEP_COLUMNS, k.row[step]
    worked = ended - start
    if a.plan[own + WINDOW] == NONE:
        rest = start - ready
        if k.facts[step, TANGLED]:
            untangle(k, step, ready, start)
    else:
        rest = close(k, step, ready, start, True)
        if a.plan[own + MODE] in (WORK, UNBROKEN):
            worked = close(k, step, start, ended, False)
        else:
            k.caught[step] = meets_weather(k, step, start, ended)
    if rest > 0 and not k.facts[step, TANGLED]:
        k.waiting[row, k.facts[step, FIRST_CAUSE]] += rest
    if finished != NONE and not k.skip[step]:
        beyond = worked - k.work[step]
        k.doing[row, k.named[AGAIN if a.plan[own + MODE] == UNBROKEN else MOVED]] += beyond
        worked -= beyond
    k.doing[row, k.worked[step]] += worked


@part
def meets_weather(k: Keeping, step: int, since: int, until: int) -> bool:
    """Whether a stop or a limit closes any shift minute of [since, until)."""
    a = k.a
    window = a.plan[a.plan[STEPS] + step * STEP_COLUMNS + WINDOW]
    own = a.plan[WINDOWS] + window * WINDOW_COLUMNS
    limits = (a.plan[own + FIRST_LIMIT], a.plan[own + END_LIMIT])
    covered = 0
    for number in range(span_of(k, window, since), a.plan[own + END_SPAN]):
        span = a.plan[SPANS] + number * SPAN_COLUMNS
        at, end = max(since, a.plan[span + FROM]), min(until, a.plan[span + TO])
        if at >= end:
            break
        covered += end - at
        if first_open(a, window, at, end) > at or first_stop(a, limits, at, end) < end:
            return True
    return bool(shift_minutes(k, window, until) - shift_minutes(k, window, since) > covered)


def _stamped(stamp: int) -> tuple[Entry, Entry]:
    """The entries, with the stamp of the sources that they are compiled from."""

    def name_all(k: Keeping, events: Ints) -> bool:
        """Write the events at the pools as numbers, which then are sorted pool by pool."""
        name_events(k, events)
        return stamp >= 0

    def split_all(k: Keeping, events: Ints) -> bool:
        """Split the minutes of every step; events at the pools by pool and minute."""
        free_units(k, events)
        for step in range(k.a.plan[N_STEPS]):
            split_step(k, step)
        return stamp >= 0

    return entry(name_all), entry(split_all)


name_all, split_all = _stamped(
    stamp_of_sources(*map(Path, (waits_tables.__file__, waits_tangled.__file__, __file__)))
)
