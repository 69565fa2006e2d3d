"""Whose turn it is; the compiled twin of `engine.turns`, where the rule and its spots are said."""

from __future__ import annotations

from towerpace.compiling.jit import inline_part
from towerpace.engine.kernel.arrays import LOOKED_AT, NOBODY, NONE, ClockArrays, TrialArrays
from towerpace.engine.kernel.crowds import (
    first_in_crowds,
    join_crowd,
    leave_crowd,
    refuse_up_to,
    set_alarm,
)
from towerpace.engine.kernel.heaps import pop, stretch, whole
from towerpace.engine.kernel.pools import short_of, take_units, watch
from towerpace.engine.kernel.scan import next_start
from towerpace.engine.kernel.stories import begin_service, expect, is_pinned, look_at

AFRESH, IN_A_CROWD = -1, -2  # where the next step stands, if it does not watch a pool


@inline_part
def serve(trial: TrialArrays, now: int) -> bool:
    """Serve the waiting steps until none can start at this instant: False; or until one that lasts no time
    has ended: True, and what its end brings comes before the others.
    """
    pools, crowds = trial.pools, trial.crowds
    while not trial.clock.out_of_room[0]:
        key, source = next_due(trial, now)
        if key == NOBODY:
            break
        if try_to_start(trial, key, source, now):
            return True
    for k in range(1, pools.gained[0] + 1):
        pool = pools.gained[k]
        pools.has_gained[pool] = crowds.has_opened[pool] = False
        crowds.short_before[pool] = 0
    pools.gained[0] = 0
    return False


@inline_part
def next_due(trial: TrialArrays, now: int) -> tuple[int, int]:
    """The smallest key among those due, and where it stands: AFRESH, a pool it watches, or IN_A_CROWD."""
    pools, crowds, to_look_at = trial.pools, trial.crowds, trial.clock.to_look_at
    best, source, is_crowded = NOBODY, AFRESH, False
    if to_look_at[0] > 0:
        best = to_look_at[1]
    for k in range(1, pools.gained[0] + 1):
        pool = pools.gained[k]
        n_crowds = crowds.waiting[crowds.first_crowd[pool]]
        is_crowded = is_crowded or n_crowds > 0
        if pools.free[pool] <= 0:
            continue
        first = pools.first_watcher[pool]
        if pools.has_gained[pool] and pools.watchers[first] > 0 and pools.watchers[first + 1] < best:
            best, source = pools.watchers[first + 1], pool
        if n_crowds > 0:
            key = first_in_crowds(trial, pool, best, now)
            if key < best:
                best, source = key, IN_A_CROWD
    if is_crowded:
        refuse_up_to(trial, best, now)
    return best, source


@inline_part
def step_of(clock: ClockArrays, key: int) -> int:
    """The step that a key belongs to."""
    return int(clock.by_turn[key & ((1 << clock.bits) - 1)])


@inline_part
def try_to_start(trial: TrialArrays, key: int, source: int, now: int) -> bool:
    """Start the step if it can, else send it to its spot; True if it started and lasted no time."""
    step = step_of(trial.clock, key)
    if source == IN_A_CROWD:
        leave_crowd(trial, step)
    else:
        take_out(trial, source)
        if not may_start(trial, step, key, now):
            return False
    return bool(begin_service(trial, step, take_units(trial, step, now), now))


@inline_part
def take_out(trial: TrialArrays, source: int) -> None:
    """Take the smallest key out of where it stands."""
    pools, clock = trial.pools, trial.clock
    if source == AFRESH:
        pop(clock.to_look_at, whole(clock.to_look_at))
    else:
        pop(pools.watchers, stretch(pools.first_watcher, source))


@inline_part
def may_start(trial: TrialArrays, step: int, key: int, now: int) -> bool:
    """Whether a step can start now; if not, it was sent to its spot."""
    steps, pools = trial.steps, trial.pools
    if is_pinned(trial, step):  # it takes what it needs, whatever is free
        return True
    line = steps.line[step]
    if line != NONE and pools.line_keys[pools.first_in_line[line] + 1] != key:
        steps.is_behind[step], steps.watched[step] = True, NONE
        return False
    short = short_of(steps, pools, step)
    if short != NONE:
        wait_for_pool(trial, short, step, key)
        return False
    if steps.watched[step] != NONE:
        steps.enabler[step] = pools.last_giver[steps.watched[step]]
        steps.watched[step] = NONE
    if not window_allows(trial, step, now):
        return False
    if line != NONE:
        leave_line(trial, line, step)
    return True


@inline_part
def wait_for_pool(trial: TrialArrays, pool: int, step: int, key: int) -> None:
    """A step that is short of a pool waits for it, in its crowd if it has one."""
    if trial.steps.member[step] == NONE:
        watch(trial, pool, step, key)
    else:
        trial.steps.watched[step] = pool
        join_crowd(trial.crowds, trial.steps.member[step])


@inline_part
def window_allows(trial: TrialArrays, step: int, now: int) -> bool:
    """Whether the step may start now; if not, it is looked at again at the opening at which it fits."""
    steps = trial.steps
    if steps.window[step] == NONE:
        return True
    opens = next_start(trial.windows, steps.window[step], now, steps.expected[step])
    if opens > now:
        if steps.member[step] == NONE:
            expect(trial.clock, step, LOOKED_AT, opens)
        else:
            set_alarm(trial, join_crowd(trial.crowds, steps.member[step]), now)
    return bool(opens == now)


@inline_part
def leave_line(trial: TrialArrays, line: int, step: int) -> None:
    """The head leaves its line; what enabled it enables who stood right behind it, which is looked at."""
    steps, pools, first = trial.steps, trial.pools, trial.pools.first_in_line[line]
    pop(pools.line_keys, stretch(pools.first_in_line, line))
    if pools.line_keys[first] == 0:
        return
    head = step_of(trial.clock, pools.line_keys[first + 1])
    if steps.is_behind[head]:
        steps.is_behind[head] = False
        steps.enabler[head] = steps.enabler[step]
        look_at(trial, head)
