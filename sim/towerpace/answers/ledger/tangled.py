"""Who held a step that needs several pools or stands in a line, minute by minute."""

from __future__ import annotations

from towerpace.answers.ledger.arrays import EVENT_BITS, EVENT_MASK, SplitArrays
from towerpace.compiling.jit import inline_part, part
from towerpace.engine.kernel.arrays import NONE
from towerpace.units import Ints


@inline_part
def last_from(minutes: Ints, first: int, end: int, minute: int) -> int:
    """Last of the ascending minutes [first, end) that is not after a minute; first - 1 if none is."""
    low, high = first, end
    while low < high:
        middle = (low + high) >> 1
        if minutes[middle] <= minute:
            low = middle + 1
        else:
            high = middle
    return int(low - 1)


@inline_part
def begun(arrays: SplitArrays, step: int) -> int:
    """When a step started; the horizon if it became ready and never did. [min]"""
    steps = arrays.steps
    if steps.started[step] == NONE and steps.ready[step] != NONE:
        return arrays.horizon
    return int(steps.started[step])


@inline_part
def fill_levels(arrays: SplitArrays, events: Ints) -> None:
    """Fill the levels of every pool from its events in the order of their minutes."""
    event = 0
    for pool in range(len(arrays.first_level) - 1):
        row = arrays.first_level[pool]
        arrays.level_minute[row] = NONE
        arrays.level_free[row] = arrays.units[pool]
        for later in range(row + 1, arrays.first_level[pool + 1]):
            arrays.level_minute[later] = events[event] >> EVENT_BITS
            change = arrays.change[events[event] & EVENT_MASK]
            arrays.level_free[later] = arrays.level_free[later - 1] + change
            event += 1


@part
def untangle(arrays: SplitArrays, step: int, at: int, end: int) -> None:
    """Book the minutes [at, end) in which the window would have let such a step start."""
    steps = arrays.steps
    while at < end:
        cause, until = NONE, end
        if steps.line[step] != NONE:
            cause, until = ahead_in_line(arrays, step, at, end)
        if cause == NONE:
            cause, until = short_at(arrays, step, at, until)
        if cause != NONE:
            arrays.waiting[arrays.row[step], cause] += until - at
        at = until


@inline_part
def short_at(arrays: SplitArrays, step: int, at: int, until: int) -> tuple[int, int]:
    """Cause of the first pool that a step is short of at a minute, or NONE, and until when that holds."""
    steps = arrays.steps
    for need in range(steps.first_need[step], steps.first_need[step + 1]):
        pool = steps.need_pool[need]
        end = arrays.first_level[pool + 1]
        row = last_from(arrays.level_minute, arrays.first_level[pool], end, at)
        if row + 1 < end:
            until = min(until, arrays.level_minute[row + 1])
        if arrays.level_free[row] < steps.need_quantity[need]:
            return int(arrays.pool_cause[pool]), until
    return NONE, until


@inline_part
def ahead_in_line(arrays: SplitArrays, step: int, at: int, end: int) -> tuple[int, int]:
    """The line as cause if somebody with a smaller key stands in it at a minute, and how long that holds."""
    steps, line, until = arrays.steps, arrays.steps.line[step], end
    for row in range(arrays.first_in_line[line], arrays.first_in_line[line + 1]):
        other = arrays.in_line[row]
        ready, start = int(steps.ready[other]), begun(arrays, other)
        if ready == NONE or start <= at or not goes_before(arrays, other, step):
            continue
        if ready <= at:
            return arrays.causes.line, min(end, start)
        until = min(until, ready)
    return NONE, until


@inline_part
def goes_before(arrays: SplitArrays, i: int, j: int) -> bool:
    """Whether step i has the smaller key."""
    steps = arrays.steps
    ready_i = int(steps.ready[i]) if steps.first_come[i] else 0
    ready_j = int(steps.ready[j]) if steps.first_come[j] else 0
    if ready_i != ready_j:
        return bool(ready_i < ready_j)
    return bool(steps.turn[i] < steps.turn[j])
