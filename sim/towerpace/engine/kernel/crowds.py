"""Crowds: waiting steps that need one unit of the same pool and start in the same window, judged together.

Crates wait for a hoist by the thousand. When it comes free with too little of the shift left, `engine.turns`
looks at each of them, and at each again at the next opening. Here nobody is looked at who cannot start: a
tree in the order of keys holds what must fit of each member that waits, and the first that fits is served
next. Minutes that must fit are counted in classes: the distinct ones of the crowd, ascending, so that those
that fit at any minute are the first few. In a closed window none does.

A member that came short of its pool and one that found a unit but was refused by its window wait in the same
tree: each is due as soon as it fits and a unit is free, since one unit is all it asks for. To whom it then
owes its turn does depend on who was looked at, which `marks` finds out. Alarms, at most one for a class, ring
at the opening at which somebody who was refused may start.
"""

from __future__ import annotations

from towerpace.engine.kernel.columns import (
    ALARMS,
    CLASS_COLUMNS,
    CLASS_CROWD,
    CLASSES,
    CROWD_COLUMNS,
    CROWD_WINDOW,
    CROWDED,
    CROWDS,
    END_CLASS,
    FIRST_CLASS,
    FIRST_KEY,
    FIRST_MEMBER,
    FITTING,
    FREE,
    GAINED,
    HAS_OPENED,
    HORIZON,
    LEAVES,
    MEMBER,
    MEMBER_CLASS,
    MEMBER_COLUMNS,
    MEMBER_CROWD,
    MEMBER_KEY,
    MEMBERS,
    MINUTES,
    N_CROWDED,
    N_GAINED,
    NOBODY,
    NONE,
    POOL,
    POOL_COLUMNS,
    POOLS,
    RINGS,
    SEEN_AT,
    SEEN_TICK,
    SHORT_TO,
    SINCE,
    STEP_COLUMNS,
    STEPS,
    STOCK_COLUMNS,
    STOCKS,
    TICK,
    TREE,
    TURNOUT_COLUMNS,
    TURNOUTS,
)
from towerpace.engine.kernel.jit import part
from towerpace.engine.kernel.marks import keep_fit, mark, owe
from towerpace.engine.kernel.pools import call_pool
from towerpace.engine.kernel.scan import Arrays, Ints, minutes_left, next_start
from towerpace.engine.kernel.stories import expect
from towerpace.engine.kernel.trees import first_below, set_leaf


@part
def come(plan: Ints, site: Ints, step: int) -> int:
    """A step that was looked at and cannot start joins its crowd; returns the crowd."""
    member = plan[plan[STEPS] + step * STEP_COLUMNS + MEMBER]
    row = plan[MEMBERS] + member * MEMBER_COLUMNS
    crowd = plan[row + MEMBER_CROWD]
    own, turnout = plan[CROWDS] + crowd * CROWD_COLUMNS, plan[TURNOUTS] + crowd * TURNOUT_COLUMNS
    pool = plan[own + POOL]
    stock = plan[STOCKS] + pool * STOCK_COLUMNS
    if site[turnout + FIRST_KEY] == NOBODY:
        site[plan[plan[POOLS] + pool * POOL_COLUMNS + CROWDED] + site[stock + N_CROWDED]] = crowd
        site[stock + N_CROWDED] += 1
    site[turnout + FIRST_KEY] = min(site[turnout + FIRST_KEY], plan[row + MEMBER_KEY])
    site[plan[SINCE] + member] = site[stock + TICK]
    leaf = plan[own + LEAVES] + member - plan[own + FIRST_MEMBER]
    set_leaf(site, plan[own + TREE], leaf, plan[row + MEMBER_CLASS])
    return int(crowd)


@part
def call(plan: Ints, site: Ints, step: int) -> None:
    """A step that starts leaves its crowd."""
    member = plan[plan[STEPS] + step * STEP_COLUMNS + MEMBER]
    owe(plan, site, step, member)
    row = plan[MEMBERS] + member * MEMBER_COLUMNS
    crowd = plan[row + MEMBER_CROWD]
    own, turnout = plan[CROWDS] + crowd * CROWD_COLUMNS, plan[TURNOUTS] + crowd * TURNOUT_COLUMNS
    set_leaf(site, plan[own + TREE], plan[own + LEAVES] + member - plan[own + FIRST_MEMBER], NOBODY)
    if site[turnout + FIRST_KEY] == plan[row + MEMBER_KEY]:
        site[turnout + FIRST_KEY] = first_key(plan, site, crowd, NOBODY)
        if site[turnout + FIRST_KEY] == NOBODY:
            disperse(plan, site, plan[own + POOL], crowd)


@part
def disperse(plan: Ints, site: Ints, pool: int, crowd: int) -> None:
    """Take an empty crowd off its pool's list."""
    first = plan[plan[POOLS] + pool * POOL_COLUMNS + CROWDED]
    size = plan[STOCKS] + pool * STOCK_COLUMNS + N_CROWDED
    k = 0
    while site[first + k] != crowd:
        k += 1
    site[size] -= 1
    site[first + k] = site[first + site[size]]


@part
def fitting(a: Arrays, crowd: int, now: int) -> int:
    """How many of a crowd's classes fit now."""
    plan, site = a.plan, a.site
    own, turnout = plan[CROWDS] + crowd * CROWD_COLUMNS, plan[TURNOUTS] + crowd * TURNOUT_COLUMNS
    if site[turnout + SEEN_AT] == now:
        return int(site[turnout + FITTING])
    keep_fit(plan, site, crowd)
    tick = plan[STOCKS] + plan[own + POOL] * STOCK_COLUMNS + TICK
    site[tick] += 1
    site[turnout + SEEN_AT], site[turnout + SEEN_TICK] = now, site[tick]
    left = minutes_left(a, plan[own + CROWD_WINDOW], now)
    low, high = plan[own + FIRST_CLASS], plan[own + END_CLASS]
    while low < high:
        middle = (low + high) >> 1
        if plan[plan[CLASSES] + middle * CLASS_COLUMNS + MINUTES] <= left:
            low = middle + 1
        else:
            high = middle
    site[turnout + FITTING] = low - plan[own + FIRST_CLASS]
    return int(site[turnout + FITTING])


@part
def first_key(plan: Ints, site: Ints, crowd: int, below: int) -> int:
    """Smallest key that waits in a crowd, of its classes below a bound; or NOBODY."""
    own = plan[CROWDS] + crowd * CROWD_COLUMNS
    place = first_below(site, plan[own + TREE], plan[own + LEAVES], below)
    if place == NONE:
        return NOBODY
    return int(plan[plan[MEMBERS] + (plan[own + FIRST_MEMBER] + place) * MEMBER_COLUMNS + MEMBER_KEY])


@part
def first_in_crowds(a: Arrays, pool: int, before: int, now: int) -> int:
    """Smallest key in a pool's crowds that may start now, or `before` if none is smaller."""
    plan, site = a.plan, a.site
    crowded = plan[plan[POOLS] + pool * POOL_COLUMNS + CROWDED]
    for k in range(site[plan[STOCKS] + pool * STOCK_COLUMNS + N_CROWDED]):
        crowd = site[crowded + k]
        if site[plan[TURNOUTS] + crowd * TURNOUT_COLUMNS + FIRST_KEY] < before:
            before = min(before, first_key(plan, site, crowd, fitting(a, crowd, now)))
    return int(before)


@part
def pass_over(a: Arrays, key: int, now: int) -> None:
    """The next to be served has this key: members of the pools served with smaller ones cannot start."""
    plan, site = a.plan, a.site
    for k in range(site[N_GAINED]):
        pool = site[plan[GAINED] + k]
        stock = plan[STOCKS] + pool * STOCK_COLUMNS
        if site[stock + FREE] > 0:
            refuse(a, pool, key, now)
        elif site[stock + HAS_OPENED]:
            site[stock + SHORT_TO] = max(site[stock + SHORT_TO], key)


@part
def refuse(a: Arrays, pool: int, key: int, now: int) -> None:
    """Members with smaller keys found a unit of the pool free, and do not fit."""
    plan, site = a.plan, a.site
    crowded = plan[plan[POOLS] + pool * POOL_COLUMNS + CROWDED]
    refused = False
    for k in range(site[plan[STOCKS] + pool * STOCK_COLUMNS + N_CROWDED]):
        crowd = site[crowded + k]
        if site[plan[TURNOUTS] + crowd * TURNOUT_COLUMNS + FIRST_KEY] < key:
            refused = True
            set_alarm(a, crowd, now)
    if refused:
        mark(plan, site, pool, key)


@part
def set_alarm(a: Arrays, crowd: int, now: int) -> None:
    """Have the pool served when the least class that waits and does not fit now will fit."""
    plan, site = a.plan, a.site
    own = plan[CROWDS] + crowd * CROWD_COLUMNS
    # The root may hold a class that fits and hide greater ones; the least that does not fit rings no later.
    number = plan[own + FIRST_CLASS] + max(fitting(a, crowd, now), site[plan[own + TREE] + 1])
    if number >= plan[own + END_CLASS] or site[plan[ALARMS] + number] > now:
        return
    opens = next_start(
        a, plan[own + CROWD_WINDOW], now, plan[plan[CLASSES] + number * CLASS_COLUMNS + MINUTES]
    )
    if opens == NONE:
        opens = plan[HORIZON] + 1
    site[plan[ALARMS] + number] = opens
    expect(plan, site, number, RINGS, opens)


@part
def ring(a: Arrays, number: int, now: int) -> None:
    """A class of a crowd fits again: its pool is served, and greater classes may have to wait further."""
    plan, site = a.plan, a.site
    crowd = plan[plan[CLASSES] + number * CLASS_COLUMNS + CLASS_CROWD]
    pool = plan[plan[CROWDS] + crowd * CROWD_COLUMNS + POOL]
    call_pool(plan, site, pool)
    site[plan[STOCKS] + pool * STOCK_COLUMNS + HAS_OPENED] = 1
    set_alarm(a, crowd, now)
