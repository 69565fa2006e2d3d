"""Who held a step that needs several pools or stands in a line; compiled, the twin of `waits`."""

from __future__ import annotations

from towerpace.answers.ledger.waits_tables import BEHIND, EVENT_BITS, EVENTS, Keeping
from towerpace.engine.kernel.columns import (
    FIRST_COME,
    HORIZON,
    LINE,
    NEED_COLUMNS,
    NEEDS,
    NONE,
    STEP_COLUMNS,
    STEPS,
    TURN,
)
from towerpace.engine.kernel.jit import part
from towerpace.engine.kernel.scan import Ints


@part
def last_from(table: Ints, rows: tuple[int, int], minute: int) -> int:
    """Last of the rows [from, to) whose first column is not after a minute; the one before if none is."""
    low, high = rows
    while low < high:
        middle = (low + high) >> 1
        if table[middle, 0] <= minute:
            low = middle + 1
        else:
            high = middle
    return low - 1


@part
def begun(k: Keeping, step: int) -> int:
    """When a step started; the horizon if it became ready and never did."""
    if k.started[step] == NONE and k.ready[step] != NONE:
        return int(k.a.plan[HORIZON])
    return int(k.started[step])


@part
def name_events(k: Keeping, events: Ints) -> None:
    """Write every event as a number; one of a step that was left out or never came has no minute."""
    for event in range(len(events)):
        step = k.event_step[event]
        minute = NONE
        if not k.skip[step]:
            minute = k.finished[step] if k.gives[event] else k.started[step]
        events[event] = (minute + 1) << EVENT_BITS | event


@part
def free_units(k: Keeping, events: Ints) -> None:
    """Fill the levels of every pool from its events in the order of their minutes."""
    done = 0
    for pool in range(len(k.level_starts) - 1):
        first = k.level_starts[pool]
        for row in range(first + 1, k.level_starts[pool + 1]):
            minute = (events[done] >> EVENT_BITS) - 1
            change = k.change[events[done] & EVENTS] if minute != NONE else 0
            k.levels[row, 0] = minute
            k.levels[row, 1] = k.levels[row - 1, 1] + change
            done += 1


@part
def untangle(k: Keeping, step: int, at: int, end: int) -> None:
    """Minutes [at, end) of a step that needs several pools or stands in a line: who held it, one by one."""
    a = k.a
    own = a.plan[STEPS] + step * STEP_COLUMNS
    while at < end:
        cause, until = NONE, end
        if a.plan[own + LINE] != NONE:
            cause, until = ahead(k, step, at, end)
        need = a.plan[own + NEEDS]
        while cause == NONE and need < a.plan[own + STEP_COLUMNS + NEEDS]:
            pool = a.plan[need]
            rows = (k.level_starts[pool], k.level_starts[pool + 1])
            row = last_from(k.levels, rows, at)
            if row + 1 < rows[1]:
                until = min(until, k.levels[row + 1, 0])
            if k.levels[row, 1] < a.plan[need + 1]:
                cause = k.of_pool[pool]
            need += NEED_COLUMNS
        if cause != NONE:
            k.waiting[k.row[step], cause] += until - at
        at = until


@part
def ahead(k: Keeping, step: int, at: int, end: int) -> tuple[int, int]:
    """Whether somebody with a smaller key stands in the same line at a minute, and until when that holds."""
    a = k.a
    own = a.plan[STEPS] + step * STEP_COLUMNS
    line = a.plan[own + LINE]
    until = end
    for row in range(k.line_starts[line], k.line_starts[line + 1]):
        other = k.in_line[row]
        ready, start = k.ready[other], begun(k, other)
        if ready == NONE or start <= at or not goes_before(k, other, step):
            continue
        if ready <= at:
            return int(k.named[BEHIND]), min(end, start)
        until = min(until, ready)
    return NONE, until


@part
def goes_before(k: Keeping, i: int, j: int) -> bool:
    """Whether step i has the smaller key."""
    a = k.a
    one, two = a.plan[STEPS] + i * STEP_COLUMNS, a.plan[STEPS] + j * STEP_COLUMNS
    ready_i = k.ready[i] if a.plan[one + FIRST_COME] else 0
    ready_j = k.ready[j] if a.plan[two + FIRST_COME] else 0
    if ready_i != ready_j:
        return bool(ready_i < ready_j)
    return bool(a.plan[one + TURN] < a.plan[two + TURN])
