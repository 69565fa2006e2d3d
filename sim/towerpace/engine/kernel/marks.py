"""To whom the members of a crowd owe their turn, found when they start instead of kept up while they wait.

In `engine.turns` a member that watches its pool and is looked at when a unit is free owes its turn to the
last giver. If its window refuses it then, it keeps that enabler and stops watching. At the opening at which
it fits it is looked at again: it starts, or finds the pool short and watches again. So written down are
- marks of a pool: after which gain its members were looked at, before which key, and who had given last. All
  of them that waited before that key did not fit, or the first that did would have been served;
- fits of a crowd: when how many classes fitted last. Who fitted then and still waits found the pool short.
A member owes its turn to the giver of the first mark beyond its key since it last found the pool short; if
there is none, it watches to this day and owes it to the last giver. Who never was short owes it to a
predecessor. Ticks, counted for each pool, tell what came first: a tick is a gain, or a look at a window.
"""

from __future__ import annotations

from towerpace.engine.kernel.columns import (
    CROWD_COLUMNS,
    CROWDS,
    ENABLER,
    FAULT,
    FIT_CLASSES,
    FIT_COLUMNS,
    FIT_TICK,
    FITS,
    FITTING,
    GAIN_TICK,
    LAST_GIVER,
    MARK_COLUMNS,
    MARK_GIVER,
    MARK_ROOM,
    MARK_TICK,
    MARK_TO,
    MARKS,
    MEMBER_CLASS,
    MEMBER_COLUMNS,
    MEMBER_CROWD,
    MEMBER_KEY,
    MEMBERS,
    N_FITS,
    N_MARKS,
    NONE,
    POOL,
    POOL_COLUMNS,
    POOLS,
    SEEN_TICK,
    SHORT_TO,
    SINCE,
    STOCK_COLUMNS,
    STOCKS,
    TURNOUT_COLUMNS,
    TURNOUTS,
    WATCHED,
)
from towerpace.engine.kernel.jit import part
from towerpace.engine.kernel.scan import Ints


@part
def keep_fit(plan: Ints, site: Ints, crowd: int) -> None:
    """Keep what fitted at the last look; fits of no more classes before it count no longer."""
    turnout = plan[TURNOUTS] + crowd * TURNOUT_COLUMNS
    classes, n_fits = site[turnout + FITTING], site[turnout + N_FITS]
    if classes == 0:
        return
    first = plan[plan[CROWDS] + crowd * CROWD_COLUMNS + FITS]
    while n_fits > 0 and site[first + (n_fits - 1) * FIT_COLUMNS + FIT_CLASSES] <= classes:
        n_fits -= 1
    fit = first + n_fits * FIT_COLUMNS
    site[fit + FIT_CLASSES], site[fit + FIT_TICK] = classes, site[turnout + SEEN_TICK]
    site[turnout + N_FITS] = n_fits + 1


@part
def last_fit(plan: Ints, site: Ints, crowd: int, own_class: int) -> int:
    """Tick at which a class fitted last, before the last look; NONE if it never did."""
    first = plan[plan[CROWDS] + crowd * CROWD_COLUMNS + FITS]
    k = site[plan[TURNOUTS] + crowd * TURNOUT_COLUMNS + N_FITS] - 1
    while k >= 0 and site[first + k * FIT_COLUMNS + FIT_CLASSES] <= own_class:
        k -= 1
    return int(site[first + k * FIT_COLUMNS + FIT_TICK]) if k >= 0 else NONE


@part
def mark(plan: Ints, site: Ints, pool: int, key: int) -> None:
    """Write down before which key members were looked at since the last gain: one mark for a gain."""
    own, stock = plan[POOLS] + pool * POOL_COLUMNS, plan[STOCKS] + pool * STOCK_COLUMNS
    n_marks = site[stock + N_MARKS]
    new = plan[own + MARKS] + n_marks * MARK_COLUMNS
    last = new - MARK_COLUMNS
    if n_marks > 0 and site[last + MARK_TICK] == site[stock + GAIN_TICK]:
        site[last + MARK_TO] = max(site[last + MARK_TO], key)
        return
    if n_marks == plan[own + MARK_ROOM]:
        site[FAULT] = 1
        return
    site[new + MARK_TICK], site[new + MARK_TO] = site[stock + GAIN_TICK], key
    site[new + MARK_GIVER] = site[stock + LAST_GIVER]
    site[stock + N_MARKS] = n_marks + 1


@part
def owe(plan: Ints, site: Ints, step: int, member: int) -> None:
    """Write down to whom a member that starts owes its turn; who never watched owes it to a predecessor."""
    row = plan[MEMBERS] + member * MEMBER_COLUMNS
    crowd, key = plan[row + MEMBER_CROWD], plan[row + MEMBER_KEY]
    stock = plan[STOCKS] + plan[plan[CROWDS] + crowd * CROWD_COLUMNS + POOL] * STOCK_COLUMNS
    came, fitted = site[plan[SINCE] + member], last_fit(plan, site, crowd, plan[row + MEMBER_CLASS])
    if key < site[stock + SHORT_TO]:
        site[plan[ENABLER] + step] = site[stock + LAST_GIVER]
    elif site[plan[WATCHED] + step] != NONE or fitted > came:
        site[plan[ENABLER] + step] = giver_since(plan, site, row, max(came, fitted))
    site[plan[WATCHED] + step] = NONE


@part
def giver_since(plan: Ints, site: Ints, row: int, tick: int) -> int:
    """Giver of the first mark beyond a member's key after a tick, or the last giver of the pool."""
    pool = plan[plan[CROWDS] + plan[row + MEMBER_CROWD] * CROWD_COLUMNS + POOL]
    stock, first = plan[STOCKS] + pool * STOCK_COLUMNS, plan[plan[POOLS] + pool * POOL_COLUMNS + MARKS]
    giver, k = site[stock + LAST_GIVER], site[stock + N_MARKS] - 1
    while k >= 0 and site[first + k * MARK_COLUMNS + MARK_TICK] > tick:
        if site[first + k * MARK_COLUMNS + MARK_TO] > plan[row + MEMBER_KEY]:
            giver = site[first + k * MARK_COLUMNS + MARK_GIVER]
        k -= 1
    return int(giver)
