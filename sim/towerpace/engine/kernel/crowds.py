"""Crowds: waiting steps that need one unit of the same pool and start in the same window, judged together.

Crates wait for a hoist by the thousand. When it comes free with too little of the shift left, `engine.turns`
looks at each of them, and at each again at the next opening. Here nobody is looked at who cannot start: a
tree in the order of keys holds what must fit of each member that waits, and the first that fits is served
next. Minutes that must fit are counted in classes: the distinct ones of the crowd, ascending, so that those
that fit at any minute are the first few. In a closed window none does.

A member that came short of its pool and one that found a unit but was refused by its window wait in the same
tree: each starts as soon as it fits and a unit is free, since one unit is all it asks for. What enabled it
does depend on who was looked at, and `enablers` finds that out. Alarms, at most one for a class, ring at the
opening at which somebody who was refused may start.
"""

from __future__ import annotations

from towerpace.compiling.jit import inline_part, part
from towerpace.engine.kernel.arrays import CROWD_FITS, NOBODY, NONE, CrowdArrays, TrialArrays
from towerpace.engine.kernel.enablers import keep_fit, mark_looks, set_enabler
from towerpace.engine.kernel.heaps import append, stretch
from towerpace.engine.kernel.pools import serve_in_this_instant
from towerpace.engine.kernel.scan import minutes_left, next_start
from towerpace.engine.kernel.stories import expect
from towerpace.engine.kernel.trees import first_below, set_leaf


@part
def join_crowd(crowds: CrowdArrays, member: int) -> int:
    """A member that was looked at and cannot start waits in its crowd; returns the crowd."""
    crowd = crowds.member_crowd[member]
    pool = crowds.pool[crowd]
    if crowds.first_key[crowd] == NOBODY:
        append(crowds.waiting, stretch(crowds.first_crowd, pool), crowd)
    crowds.first_key[crowd] = min(crowds.first_key[crowd], crowds.member_key[member])
    crowds.joined_tick[member] = crowds.tick[pool]
    set_member(crowds, crowd, member, crowds.member_class[member])
    return int(crowd)


@inline_part
def set_member(crowds: CrowdArrays, crowd: int, member: int, member_class: int) -> None:
    """Write into the tree of a crowd which class waits at a member's place, or NOBODY."""
    own = stretch(crowds.first_node, crowd)
    set_leaf(crowds.tree, own, member - crowds.first_member[crowd], member_class)


@inline_part
def leave_crowd(trial: TrialArrays, step: int) -> None:
    """A member that starts leaves its crowd."""
    set_enabler(trial, step)
    crowds, member = trial.crowds, trial.steps.member[step]
    crowd = crowds.member_crowd[member]
    set_member(crowds, crowd, member, NOBODY)
    if crowds.first_key[crowd] == crowds.member_key[member]:
        crowds.first_key[crowd] = first_key(crowds, crowd, NOBODY)
        if crowds.first_key[crowd] == NOBODY:
            drop_empty(crowds, crowd)


@inline_part
def drop_empty(crowds: CrowdArrays, crowd: int) -> None:
    """Take an empty crowd off the list of its pool."""
    first, waiting = crowds.first_crowd[crowds.pool[crowd]], crowds.waiting
    place = first + 1
    while waiting[place] != crowd:
        place += 1
    waiting[place] = waiting[first + waiting[first]]
    waiting[first] -= 1


@part
def fitting_classes(trial: TrialArrays, crowd: int, now: int) -> int:
    """How many of a crowd's classes fit now."""
    crowds = trial.crowds
    if crowds.seen_at[crowd] == now:
        return int(crowds.n_fitting[crowd])
    keep_fit(crowds, crowd)
    pool = crowds.pool[crowd]
    crowds.tick[pool] += 1
    crowds.seen_at[crowd], crowds.seen_tick[crowd] = now, crowds.tick[pool]
    left = minutes_left(trial.windows, crowds.window[crowd], now)
    low, high = crowds.first_class[crowd], crowds.first_class[crowd + 1]
    while low < high:
        middle = (low + high) >> 1
        if crowds.class_min[middle] <= left:
            low = middle + 1
        else:
            high = middle
    crowds.n_fitting[crowd] = low - crowds.first_class[crowd]
    return int(crowds.n_fitting[crowd])


@inline_part
def first_key(crowds: CrowdArrays, crowd: int, below: int) -> int:
    """Smallest key that waits in a crowd, of its classes below a bound; or NOBODY."""
    leaf = first_below(crowds.tree, stretch(crowds.first_node, crowd), below)
    return NOBODY if leaf == NONE else int(crowds.member_key[crowds.first_member[crowd] + leaf])


@inline_part
def first_in_crowds(trial: TrialArrays, pool: int, before: int, now: int) -> int:
    """Smallest key in a pool's crowds that may start now, or `before` if none is smaller."""
    crowds, first = trial.crowds, trial.crowds.first_crowd[pool]
    for k in range(first + 1, first + 1 + crowds.waiting[first]):
        crowd = crowds.waiting[k]
        if crowds.first_key[crowd] < before:
            before = min(before, first_key(crowds, crowd, fitting_classes(trial, crowd, now)))
    return int(before)


@inline_part
def refuse_up_to(trial: TrialArrays, key: int, now: int) -> None:
    """The next to be served has this key: members of the pools served with smaller ones cannot start."""
    crowds, gained = trial.crowds, trial.pools.gained
    for k in range(1, gained[0] + 1):
        pool = gained[k]
        if trial.pools.free[pool] > 0:
            refuse_members(trial, pool, key, now)
        elif crowds.has_opened[pool]:
            crowds.short_before[pool] = max(crowds.short_before[pool], key)


@inline_part
def refuse_members(trial: TrialArrays, pool: int, key: int, now: int) -> None:
    """Members with smaller keys found a unit of the pool free, and do not fit."""
    crowds, first = trial.crowds, trial.crowds.first_crowd[pool]
    is_anybody_refused = False
    for k in range(first + 1, first + 1 + crowds.waiting[first]):
        crowd = crowds.waiting[k]
        if crowds.first_key[crowd] < key:
            is_anybody_refused = True
            set_alarm(trial, crowd, now)
    if is_anybody_refused:
        mark_looks(trial, pool, key)


@part
def set_alarm(trial: TrialArrays, crowd: int, now: int) -> None:
    """Have the pool served when the least class that waits and does not fit now will fit."""
    crowds = trial.crowds
    # The root may hold a class that fits and hide greater ones; the least that does not fit rings no later.
    least = max(fitting_classes(trial, crowd, now), crowds.tree[crowds.first_node[crowd] + 1])
    number = crowds.first_class[crowd] + least
    if number >= crowds.first_class[crowd + 1] or crowds.alarm[number] > now:
        return
    opens = next_start(trial.windows, crowds.window[crowd], now, crowds.class_min[number])
    if opens == NONE:
        opens = trial.clock.horizon + 1
    crowds.alarm[number] = opens
    expect(trial.clock, number, CROWD_FITS, opens)


@inline_part
def ring_alarm(trial: TrialArrays, number: int, now: int) -> None:
    """A class of a crowd fits again: its pool is served, and greater classes may have to wait further."""
    crowd = trial.crowds.class_crowd[number]
    pool = trial.crowds.pool[crowd]
    serve_in_this_instant(trial, pool)
    trial.crowds.has_opened[pool] = True
    set_alarm(trial, crowd, now)
