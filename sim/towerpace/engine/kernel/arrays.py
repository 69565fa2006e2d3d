"""What the kernel reads and writes, as arrays by name: `steps.mode[step]`, `pools.free[pool]`.

Steps stand in the order of the kernel (`order`), which is not that of the plan.
The plan, what chance decided and how the site stands share one tuple for steps, one for pools, and so on.
Every trial gets arrays of its own for what changes, and shares the others (`trial` says which are which).

A list of different length for each step, pool, line or crowd is a stretch of one long array: it begins at
`first_...[i]` and ends where the next begins, so that these arrays have one entry more than there are lists.
An annotation says how many axes an array has if not one; compiled code goes by it (`addresses`).
A list that grows and shrinks says in its first number how many follow. Pointers to nothing are NONE.
"""

from __future__ import annotations

from typing import Annotated, NamedTuple, cast

import numpy as np
from numpy.typing import NDArray

from towerpace.units import Flags, Floats, Ints

Stamps = NDArray[np.int32]
Numbers = NDArray[np.int32]  # of steps, pools and the like: half as wide as minutes, so read faster

NONE = -1
LENT = -2  # a positioned unit that does not exist, until it is given back
DAY_H = 24
LATEST = 2**31 - 1  # a minute behind every horizon
NOBODY = cast("int", np.int64(2**62))  # greater than any key and any class

# What happens at a minute to come. They are numpy's integers, like the minute and the move below: numba
# compiles a function anew for each plain number that is handed to it.
_NUMBERS = cast("list[int]", list(np.arange(5)))
ENDS, BECOMES_READY, OPENS, LOOKED_AT, CROWD_FITS = _NUMBERS
KIND_BITS = 3
MINUTE_0 = NO_MOVE = _NUMBERS[0]


class StepArrays(NamedTuple):
    """Steps, (n,) each unless said otherwise.

    window, place, line, member : their numbers, or NONE; `member` counts those who wait in crowds.
    mode : of the window. expected : minutes that must fit into the shift at the start, 0 in other modes
        than "start".
    first_come : whether its pools are served first come. turn : place in the order of rank and number.
    first_need, first_give, first_after : lists (n + 1,) of the pools and quantities it needs; of the pools
        and quantities it gives, and who took them; of its successors.
    number : in the plan. n_before : predecessors. leader : number of the first step of its flag, or NONE.
    work, date, skip : as drawn. [min]
    began, ended, left : of pinned steps, else NONE. [min]
    ready, started, finished, enabler : the diary. missing : predecessors that have not ended.
    watched : pool that it watches. unit : positioned unit that it holds. is_behind : whether it is to be
        looked at once it is the head of its line.
    """

    window: Numbers
    mode: Numbers
    expected: Ints
    place: Numbers
    line: Numbers
    first_come: Flags
    turn: Numbers
    member: Numbers
    first_need: Numbers
    need_pool: Numbers
    need_quantity: Ints
    first_give: Numbers
    give_pool: Numbers
    give_quantity: Ints
    give_taker: Numbers
    first_after: Numbers
    after: Numbers
    number: Numbers
    n_before: Numbers
    leader: Numbers
    work: Stamps
    date: Stamps
    skip: Flags
    began: Ints
    ended: Ints
    left: Ints
    ready: Stamps
    started: Stamps
    finished: Stamps
    enabler: Stamps
    missing: Numbers
    watched: Numbers
    unit: Numbers
    is_behind: Flags


class PoolArrays(NamedTuple):
    """Pools, (n_pools,) each unless said otherwise, and the lines before them.

    free : units. last_giver, given_at : who gave last, and when. has_gained : in this instant.
    gained : list of the pools to be served in this instant, because they gained or a crowd fits again.
    first_watcher : lists (n_pools + 1,). watchers : keys of the steps that watch each pool, a heap.
    set_aside : of those that watch it from its next gain on.
    moves : number of its table of moves, or NONE. move_min : (n_tables, n_places, n_places). [min]
    first_unit : (n_pools + 1,). unit_place, unit_is_idle : of every positioned unit.
    first_in_line : lists (n_lines + 1,). line_keys : keys of the steps that stand in each line, a heap.
    first_level : lists (n_pools + 1,) of levels: level_min, a minute at which units were taken or given, and
        level_free, what was free when it had passed. n_levels : how many there are of each pool.
    """

    free: Ints
    last_giver: Ints
    given_at: Ints
    has_gained: Flags
    gained: Ints
    first_watcher: Ints
    watchers: Ints
    set_aside: Ints
    moves: Ints
    move_min: Annotated[Ints, 3]
    first_unit: Ints
    unit_place: Ints
    unit_is_idle: Flags
    first_in_line: Ints
    line_keys: Ints
    first_level: Ints
    n_levels: Ints
    level_min: Stamps
    level_free: Ints


class WindowArrays(NamedTuple):
    """Windows, and the weather of the trial that their limits look at.

    calendar : of each window. first_span, end_span : its open spans without weather, [from, to).
    first_limit, end_limit : its limits, [from, to).
    opens, closes, shift_end : of each span of a calendar; the end of the shift that it lies in. [min]
    variable : of each limit, a row of `value`. restart_min : to wait after a bad hour. ratio, bound : the
        hour is bad if ratio times value lies above the bound, or below if `is_below`.
    is_wind : whether the wind factor of the day applies.
    cursor : of each calendar, the span looked at last.
    value : (n_variables, n_record_hours). day : of the record, for each day of the project.
    wind_factor : of each day of the project. n_hours : of the project; no later hour is bad.
    """

    calendar: Ints
    first_span: Ints
    end_span: Ints
    first_limit: Ints
    end_limit: Ints
    opens: Ints
    closes: Ints
    shift_end: Ints
    variable: Ints
    restart_min: Ints
    ratio: Floats
    bound: Floats
    is_below: Flags
    is_wind: Flags
    cursor: Ints
    value: Annotated[Floats, 2]
    day: Ints
    wind_factor: Floats
    n_hours: int


class CrowdArrays(NamedTuple):
    """Crowds (`crowds`), their members, and what is written down to find enablers later (`enablers`).

    Of each crowd: pool, window, first_class, first_member, first_node of its `tree`. first_key : smallest
        that waits, or NOBODY. seen_at, seen_tick : minute and tick of the last look at its window;
        n_fitting : how many classes fitted then. n_fits : looks at which some classes fitted that are kept,
        from first_class on: fit_classes and fit_tick.
    Of each class: class_min, the minutes that must fit; class_crowd; alarm : minute at which it fits again.
    Of each member: member_crowd, member_class within it, member_key; joined_tick.
    Of each pool: first_crowd, in the list of `waiting` crowds that are not empty; has_opened : whether one
        fits again in this instant; short_before : key before which members found it short in this instant.
    tick : of each pool, counts gains and looks at windows; gain_tick : of the last gain.
    first_mark : lists (n_pools + 1,) of marks, of which there are n_marks: mark_tick of a gain, mark_before :
        key before which members were looked at after it, mark_giver : who had given last.
    """

    pool: Ints
    window: Numbers
    first_class: Ints
    first_member: Ints
    first_node: Ints
    tree: Ints
    first_key: Ints
    seen_at: Ints
    seen_tick: Ints
    n_fitting: Ints
    n_fits: Ints
    fit_classes: Ints
    fit_tick: Ints
    class_min: Ints
    class_crowd: Ints
    alarm: Ints
    member_crowd: Ints
    member_class: Ints
    member_key: Ints
    joined_tick: Ints
    first_crowd: Ints
    waiting: Ints
    has_opened: Flags
    short_before: Ints
    tick: Ints
    gain_tick: Ints
    first_mark: Ints
    n_marks: Ints
    mark_tick: Ints
    mark_before: Ints
    mark_giver: Ints


class ClockArrays(NamedTuple):
    """The clock of a trial.

    horizon : nothing happens later. [min]  data_date : up to which pinned steps were seen. [min]
    has_pins : whether any step is pinned.
    by_turn : (n,) steps in the order of rank and number.
    bits : that hold a step's number; a key is (ready minute if first come, else 0) << bits | turn.
    future : heap of what is to come, (minute << KIND_BITS | kind) << bits | step, or class of a crowd.
    in_turn : what is to come and was said in the order in which it comes; its first two numbers say where it
        begins and ends.
    to_look_at : heap of the keys of steps to be looked at in this instant.
    released : list of the steps whose predecessors have ended and whose story has not begun.
    out_of_room : (1,) whether a list would have grown past its end, or the draw does not fit.
    """

    horizon: int
    data_date: int
    has_pins: int
    bits: int
    by_turn: Ints
    future: Ints
    in_turn: Ints
    to_look_at: Ints
    released: Ints
    out_of_room: Flags


class DrawnArrays(NamedTuple):
    """What Python hands over and gets back, by the number of the step in the plan, (n,) each.

    work, date, skip : as drawn. [min]  ready, started, finished, enabler : the diary.
    """

    work: Ints
    date: Ints
    skip: Flags
    ready: Stamps
    started: Stamps
    finished: Stamps
    enabler: Stamps


class TrialArrays(NamedTuple):
    """All that the kernel reads and writes in a trial."""

    drawn: DrawnArrays
    steps: StepArrays
    pools: PoolArrays
    windows: WindowArrays
    crowds: CrowdArrays
    clock: ClockArrays
