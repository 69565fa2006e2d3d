"""Taking and giving units, and who watches for them; the compiled twin of `engine.pools`."""

from __future__ import annotations

from towerpace.compiling.jit import inline_part
from towerpace.engine.kernel.arrays import LENT, NONE, PoolArrays, StepArrays, TrialArrays
from towerpace.engine.kernel.heaps import append, push, stretch, whole


@inline_part
def short_of(steps: StepArrays, pools: PoolArrays, step: int) -> int:
    """First pool, in the order of the needs, that has too few units for the step; or NONE."""
    for need in range(steps.first_need[step], steps.first_need[step + 1]):
        pool = steps.need_pool[need]
        if pools.free[pool] < steps.need_quantity[need]:
            return int(pool)
    return NONE


@inline_part
def note_level(pools: PoolArrays, pool: int, now: int) -> None:
    """Write down what is free of a pool now; of a minute the last counts."""
    level = pools.first_level[pool] + pools.n_levels[pool] - 1
    if pools.n_levels[pool] == 0 or pools.level_min[level] != now:
        level += 1
        pools.n_levels[pool] += 1
        pools.level_min[level] = now
    pools.level_free[level] = pools.free[pool]


@inline_part
def take_units(trial: TrialArrays, step: int, now: int) -> int:
    """Take everything the step needs; the minutes its positioned unit must move. [min]"""
    steps, pools, move = trial.steps, trial.pools, 0
    for need in range(steps.first_need[step], steps.first_need[step + 1]):
        pool = steps.need_pool[need]
        pools.free[pool] -= steps.need_quantity[need]
        note_level(pools, pool, now)
        if pools.moves[pool] != NONE:
            move = send_nearest(trial, pool, step)
    return move


@inline_part
def send_nearest(trial: TrialArrays, pool: int, step: int) -> int:
    """The nearest free unit goes to the step's place; ties go to the lowest number."""
    pools, place = trial.pools, trial.steps.place[step]
    nearest, least = NONE, 0
    for unit in range(pools.first_unit[pool], pools.first_unit[pool + 1]):
        if pools.unit_is_idle[unit]:
            way = 0 if place == NONE else pools.move_min[pools.moves[pool], pools.unit_place[unit], place]
            if nearest == NONE or way < least:
                nearest, least = unit, way
    if nearest == NONE:
        trial.steps.unit[step] = LENT
        trial.clock.out_of_room[0] = trial.clock.out_of_room[0] or trial.steps.began[step] == NONE
        return 0
    pools.unit_is_idle[nearest] = False
    trial.steps.unit[step] = nearest
    return int(least)


@inline_part
def give_units(trial: TrialArrays, giver: int, now: int) -> None:
    """Hand over everything a step gives; of each pool the giver is remembered, of one minute the highest."""
    steps, pools, crowds = trial.steps, trial.pools, trial.crowds
    for give in range(steps.first_give[giver], steps.first_give[giver + 1]):
        pool = steps.give_pool[give]
        pools.free[pool] += steps.give_quantity[give]
        note_level(pools, pool, now)
        last = pools.last_giver[pool]
        if pools.given_at[pool] != now or steps.number[giver] > steps.number[last]:
            pools.last_giver[pool] = giver
        pools.given_at[pool] = now
        if pools.moves[pool] != NONE:
            put_down_unit(trial, steps.give_taker[give], giver)
        serve_in_this_instant(trial, pool)
        pools.has_gained[pool] = True
        crowds.tick[pool] += 1
        crowds.gain_tick[pool] = crowds.tick[pool]
        put_back(trial, pool)


@inline_part
def serve_in_this_instant(trial: TrialArrays, pool: int) -> None:
    """Have those who wait for a pool served in this instant."""
    if not (trial.pools.has_gained[pool] or trial.crowds.has_opened[pool]):
        append(trial.pools.gained, whole(trial.pools.gained), pool)


@inline_part
def put_down_unit(trial: TrialArrays, taker: int, giver: int) -> None:
    """A positioned unit stands at the giver's place, else the taker's, else where it was."""
    steps, pools = trial.steps, trial.pools
    unit = steps.unit[taker] if taker != NONE else NONE
    if unit == NONE:
        trial.clock.out_of_room[0] = True
        return
    if unit == LENT:
        return
    place = steps.place[giver]
    if place == NONE:
        place = steps.place[taker]
    if place != NONE:
        pools.unit_place[unit] = place
    pools.unit_is_idle[unit] = True


@inline_part
def watch(trial: TrialArrays, pool: int, step: int, key: int) -> None:
    """Wait for a pool; if it gained in this instant, only its next gain counts."""
    pools, own = trial.pools, stretch(trial.pools.first_watcher, pool)
    trial.steps.watched[step] = pool
    is_late = pools.has_gained[pool]
    has_room = append(pools.set_aside, own, key) if is_late else push(pools.watchers, own, key)
    if not has_room:
        trial.clock.out_of_room[0] = True


@inline_part
def put_back(trial: TrialArrays, pool: int) -> None:
    """A pool gained: those set aside watch it again."""
    pools, own = trial.pools, stretch(trial.pools.first_watcher, pool)
    start = own[0]
    for k in range(start + 1, start + 1 + pools.set_aside[start]):
        if not push(pools.watchers, own, pools.set_aside[k]):
            trial.clock.out_of_room[0] = True
    pools.set_aside[start] = 0
