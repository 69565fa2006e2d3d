"""Who held a step that needs several pools or stands in a line, minute by minute."""

from __future__ import annotations

from towerpace.answers.ledger.arrays import EVENT_BITS, EVENT_MASK, SplitArrays
from towerpace.compiling.jit import inline_part, part
from towerpace.engine.kernel.arrays import NONE
from towerpace.engine.kernel.scan import wide


@inline_part
def level_at(arrays: SplitArrays, pool: int, minute: int) -> int:
    """Last level of a pool that began by a minute; the one before its first if none did.

    Whoever looks next mostly looks a little later: the search begins where the last one ended.
    """
    minutes, first = arrays.level_min, arrays.first_level[pool]
    low, high, ahead = arrays.seen_level[pool], first + arrays.n_levels[pool], 1
    if low >= first and minutes[low] > minute:
        low, high = first - 1, low
    else:
        while low + ahead < high and minutes[low + ahead] <= minute:
            low += ahead
            ahead += ahead
        high = min(low + ahead, high)
    while low + 1 < high:
        middle = (low + high) >> 1
        if minutes[middle] <= minute:
            low = middle
        else:
            high = middle
    arrays.seen_level[pool] = low
    return int(low)


@inline_part
def begun(arrays: SplitArrays, step: int) -> int:
    """When a step started; the horizon if it became ready and never did. [min]"""
    steps = arrays.steps
    if steps.started[step] == NONE and steps.ready[step] != NONE:
        return arrays.horizon
    return int(steps.started[step])


@inline_part
def note_events(arrays: SplitArrays, pool: int) -> None:
    """Write down what was taken of a pool and given back, in any order.

    Most steps of a tower are remedies, which are left out: a skipped step takes and gives nothing.
    """
    steps, end = arrays.steps, arrays.first_take[pool]
    for event in range(arrays.first_take[pool], arrays.first_give[pool]):
        step = arrays.event_step[event]
        if not steps.skip[step] and steps.started[step] != NONE:
            arrays.events[end] = wide(steps.started[step]) << EVENT_BITS | event
            end += 1
    for event in range(arrays.first_give[pool], arrays.first_take[pool + 1]):
        step = arrays.event_step[event]
        if not steps.skip[step] and steps.finished[step] != NONE:
            arrays.events[end] = wide(steps.finished[step]) << EVENT_BITS | event
            end += 1
    arrays.end_event[pool] = end


@inline_part
def fill_levels(arrays: SplitArrays) -> None:
    """Fill in what is free of every pool from each of its events on, which are in order."""
    for pool in range(len(arrays.units)):
        free, level = arrays.units[pool], arrays.first_level[pool]
        for event in range(arrays.first_take[pool], arrays.end_event[pool]):
            free += arrays.change[arrays.events[event] & EVENT_MASK]
            arrays.level_min[level] = arrays.events[event] >> EVENT_BITS
            arrays.level_free[level] = free
            level += 1
        arrays.n_levels[pool] = level - arrays.first_level[pool]


@inline_part
def forget_looks(arrays: SplitArrays) -> None:
    """Begin the search for levels of every pool at its first."""
    for pool in range(len(arrays.seen_level)):
        arrays.seen_level[pool] = arrays.first_level[pool] - 1


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
        first, level = arrays.first_level[pool], level_at(arrays, pool, at)
        if level + 1 < first + arrays.n_levels[pool]:
            until = min(until, wide(arrays.level_min[level + 1]))
        free = arrays.level_free[level] if level >= first else arrays.units[pool]
        if free < steps.need_quantity[need]:
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
