"""What the split of a trial's minutes reads and writes, as arrays by name."""

from __future__ import annotations

from typing import Annotated, NamedTuple

from towerpace.engine.kernel.arrays import Numbers, StepArrays, WindowArrays
from towerpace.units import Flags, Ints

# An event at a pool is a number, in the order of minutes: minute << EVENT_BITS and its place among all that
# may come, so that one sort of numbers does.
EVENT_BITS = 32
EVENT_MASK = (1 << EVENT_BITS) - 1


class CauseColumns(NamedTuple):
    """Columns of the causes that every plan has."""

    move: int
    again: int
    shift: int
    stops: int
    late: int
    line: int


class SplitArrays(NamedTuple):
    """What the split of one trial reads and writes.

    steps, windows : the kernel's, with draw, diary and weather of the trial. horizon. [min]
    has_pins : whether any step is pinned.
    causes : columns of the causes. limit_cause, pool_cause : columns of each limit's and each pool's.
    shift_start, shift_end : shifts of all calendars, and behind those of each one that never comes. [min]
    minutes_before : minutes of the calendar's shifts before each. [min]
    day_shift, day_span : (n_calendars, n_days) first shift, and first open span, that ends after a day has
        begun; the last day stands for all that follow.
    first_pool_cause : (n,) of being short of the first pool that a step needs.
    is_tangled : (n,) whether it needs several pools or stands in a line.
    row : (n,) row of a step in `waiting` and `doing`: its own, or one that it shares with others.
    work_cause : (n,) column of the minutes in which it is worked at.
    event_step, change : of each event that may come at a pool that tangled steps need, whose start or end it
        is and by how many units it changes what is free.
    first_take, first_give : (n_pools + 1,) lists of such starts, and of such ends behind them.
    units : (n_pools,) free at first.
    events, level_free : those that came, and what is free from each on: a list a pool, from first_take on.
    end_event : (n_pools,) where that ends.
    first_in_line : (n_lines + 1,) lists of in_line, the steps that stand in each line.
    waiting, doing : (n_rows, n_causes), which may be one array. [min]
    caught : (n,) whether a lift was under way when the weather passed a limit, be it after the shift.
    past_shift : (n,) whether a lift ended after the shift in which it started.
    """

    steps: StepArrays
    windows: WindowArrays
    horizon: int
    has_pins: int
    causes: CauseColumns
    limit_cause: Ints
    pool_cause: Ints
    shift_start: Ints
    shift_end: Ints
    minutes_before: Ints
    day_shift: Annotated[Ints, 2]
    day_span: Annotated[Ints, 2]
    first_pool_cause: Ints
    is_tangled: Flags
    row: Ints
    work_cause: Ints
    event_step: Numbers
    change: Ints
    first_take: Ints
    first_give: Ints
    units: Ints
    events: Ints
    level_free: Ints
    end_event: Ints
    first_in_line: Ints
    in_line: Ints
    waiting: Annotated[Ints, 2]
    doing: Annotated[Ints, 2]
    caught: Flags
    past_shift: Flags
