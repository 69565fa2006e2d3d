"""What the split of a trial's minutes reads and writes, as arrays by name."""

from __future__ import annotations

from typing import Annotated, NamedTuple

from towerpace.answers.ledger.shifts import SpanArrays
from towerpace.engine.kernel.arrays import Numbers, Stamps, StepArrays, WindowArrays
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
    shifts, spans, shift_end, has_stops : of calendars; see `Shifts`.
    first_pool_cause : (n,) of being short of the first pool that a step needs, or NONE.
    is_tangled : (n,) whether it needs several pools or stands in a line.
    is_plain : (n,) whether nothing but hours outside the shift can make it last longer than its work.
    row : (n,) row of a step in `waiting` and `doing`: its own, or one that it shares with others.
    work_cause : (n,) column of the minutes in which it is worked at.
    event_step, change : of each event that may come at a pool that tangled steps need, whose start or end it
        is and by how many units it changes what is free.
    first_take, first_give : (n_pools + 1,) lists of such starts, and of such ends behind them.
    events : those that came: a list a pool, from first_take on. end_event : (n_pools,) where that ends.
    units : (n_pools,) free at first.
    first_level, n_levels, level_min, level_free : levels of pools, see `PoolArrays`: made of the events, or
        what the kernel noted. seen_level : (n_pools,) the one found last, or the one
        before the first.
    first_in_line : (n_lines + 1,) lists of in_line, the steps that stand in each line.
    waiting, doing : (n_rows, n_causes), which may be one array. [min]
    caught : (n,) whether a lift was under way when the weather passed a limit, be it after the shift.
    past_shift : (n,) whether a lift ended after the shift in which it started.
    is_lift : (n,) whether a step may be a lift. lifts : (2,) how many of them were caught, and ended past
        their shift.
    """

    steps: StepArrays
    windows: WindowArrays
    horizon: int
    has_pins: int
    causes: CauseColumns
    limit_cause: Ints
    pool_cause: Ints
    shifts: SpanArrays
    spans: SpanArrays
    shift_end: Ints
    has_stops: Flags
    first_pool_cause: Numbers
    is_tangled: Flags
    is_plain: Flags
    row: Numbers
    work_cause: Numbers
    event_step: Numbers
    change: Ints
    first_take: Ints
    first_give: Ints
    units: Ints
    first_level: Ints
    n_levels: Ints
    level_min: Stamps
    level_free: Ints
    seen_level: Ints
    events: Ints
    end_event: Ints
    first_in_line: Ints
    in_line: Ints
    waiting: Annotated[Ints, 2]
    doing: Annotated[Ints, 2]
    caught: Flags
    past_shift: Flags
    is_lift: Flags
    lifts: Ints
