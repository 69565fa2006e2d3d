"""Taking and giving units, and who watches for them; the compiled twin of `engine.pools`."""

from __future__ import annotations

from towerpace.engine.kernel.columns import (
    ASIDE,
    AT,
    FAULT,
    FREE,
    GAIN_TICK,
    GAINED,
    GIVE_COLUMNS,
    GIVEN_AT,
    GIVES,
    HAS_GAINED,
    HAS_OPENED,
    HELD,
    IDLE,
    LAST_GIVER,
    MOVES,
    N_GAINED,
    N_PLACED,
    N_PLACES,
    NEED_COLUMNS,
    NEEDS,
    NONE,
    PLACE,
    PLACED,
    POOL_COLUMNS,
    POOLS,
    PUT_ASIDE,
    STEP_COLUMNS,
    STEPS,
    STOCK_COLUMNS,
    STOCKS,
    TICK,
    UNIT_COLUMNS,
    WATCH_ROOM,
    WATCHED,
    WATCHERS,
    WATCHING,
)
from towerpace.engine.kernel.heaps import push
from towerpace.engine.kernel.jit import part
from towerpace.engine.kernel.scan import Ints


@part
def short_of(plan: Ints, site: Ints, step: int) -> int:
    """First pool, in the order of the needs, that has too few units for the step; or NONE."""
    own = plan[STEPS] + step * STEP_COLUMNS
    for need in range(plan[own + NEEDS], plan[own + STEP_COLUMNS + NEEDS], NEED_COLUMNS):
        if site[plan[STOCKS] + plan[need] * STOCK_COLUMNS + FREE] < plan[need + 1]:
            return int(plan[need])
    return NONE


@part
def take(plan: Ints, site: Ints, step: int) -> int:
    """Take everything the step needs; the minutes its positioned unit must move. [min]"""
    own = plan[STEPS] + step * STEP_COLUMNS
    move = 0
    for need in range(plan[own + NEEDS], plan[own + STEP_COLUMNS + NEEDS], NEED_COLUMNS):
        pool = plan[need]
        site[plan[STOCKS] + pool * STOCK_COLUMNS + FREE] -= plan[need + 1]
        if plan[plan[POOLS] + pool * POOL_COLUMNS + MOVES] != NONE:
            move = send_nearest(plan, site, pool, step)
    return move


@part
def send_nearest(plan: Ints, site: Ints, pool: int, step: int) -> int:
    """The nearest free unit goes to the step's place; ties go to the lowest number."""
    own = plan[POOLS] + pool * POOL_COLUMNS
    place = plan[plan[STEPS] + step * STEP_COLUMNS + PLACE]
    nearest, least = NONE, 0
    for k in range(plan[own + N_PLACED]):
        unit = plan[own + PLACED] + k * UNIT_COLUMNS
        if site[unit + IDLE]:
            way = 0 if place == NONE else plan[plan[own + MOVES] + site[unit + AT] * plan[N_PLACES] + place]
            if nearest == NONE or way < least:
                nearest, least = unit, way
    if nearest == NONE:
        site[FAULT] = 1
        return 0
    site[nearest + IDLE] = 0
    site[plan[HELD] + step] = nearest
    return int(least)


@part
def give_all(plan: Ints, site: Ints, giver: int, minute: int) -> None:
    """Hand over everything a step gives; of each pool the giver is remembered, of one minute the highest."""
    own = plan[STEPS] + giver * STEP_COLUMNS
    for row in range(plan[own + GIVES], plan[own + STEP_COLUMNS + GIVES], GIVE_COLUMNS):
        pool = plan[row]
        stock = plan[STOCKS] + pool * STOCK_COLUMNS
        site[stock + FREE] += plan[row + 1]
        if site[stock + GIVEN_AT] != minute or giver > site[stock + LAST_GIVER]:
            site[stock + LAST_GIVER] = giver
        site[stock + GIVEN_AT] = minute
        if plan[plan[POOLS] + pool * POOL_COLUMNS + MOVES] != NONE:
            put_down(plan, site, plan[row + 2], giver)
        call_pool(plan, site, pool)
        site[stock + HAS_GAINED] = 1
        site[stock + TICK] += 1
        site[stock + GAIN_TICK] = site[stock + TICK]
        put_back(plan, site, pool)


@part
def call_pool(plan: Ints, site: Ints, pool: int) -> None:
    """Have who waits for a pool served in this instant."""
    stock = plan[STOCKS] + pool * STOCK_COLUMNS
    if not (site[stock + HAS_GAINED] or site[stock + HAS_OPENED]):
        site[plan[GAINED] + site[N_GAINED]] = pool
        site[N_GAINED] += 1


@part
def put_down(plan: Ints, site: Ints, taker: int, giver: int) -> None:
    """A positioned unit stands at the giver's place, else the taker's, else where it was."""
    unit = site[plan[HELD] + taker] if taker != NONE else NONE
    if unit == NONE:
        site[FAULT] = 1
        return
    place = plan[plan[STEPS] + giver * STEP_COLUMNS + PLACE]
    if place == NONE:
        place = plan[plan[STEPS] + taker * STEP_COLUMNS + PLACE]
    if place != NONE:
        site[unit + AT] = place
    site[unit + IDLE] = 1


@part
def watch(plan: Ints, site: Ints, pool: int, step: int, key: int) -> None:
    """Wait for a pool; if it gained in this instant, only its next gain counts."""
    own, stock = plan[POOLS] + pool * POOL_COLUMNS, plan[STOCKS] + pool * STOCK_COLUMNS
    if site[stock + WATCHING] + site[stock + ASIDE] == plan[own + WATCH_ROOM]:
        site[FAULT] = 1
        return
    site[plan[WATCHED] + step] = pool
    if site[stock + HAS_GAINED]:
        site[plan[own + PUT_ASIDE] + site[stock + ASIDE]] = key
        site[stock + ASIDE] += 1
    else:
        push(site, plan[own + WATCHERS], site[stock + WATCHING], key)
        site[stock + WATCHING] += 1


@part
def put_back(plan: Ints, site: Ints, pool: int) -> None:
    """A pool gained: those set aside watch it again."""
    own, stock = plan[POOLS] + pool * POOL_COLUMNS, plan[STOCKS] + pool * STOCK_COLUMNS
    for k in range(site[stock + ASIDE]):
        push(site, plan[own + WATCHERS], site[stock + WATCHING], site[plan[own + PUT_ASIDE] + k])
        site[stock + WATCHING] += 1
    site[stock + ASIDE] = 0
