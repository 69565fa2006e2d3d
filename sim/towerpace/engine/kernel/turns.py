"""Whose turn it is; the compiled twin of `engine.turns`, where the rule and its spots are said."""

from __future__ import annotations

from towerpace.engine.kernel.columns import (
    AFRESH,
    BEHIND,
    BITS,
    ENABLER,
    EXPECTED,
    FREE,
    GAINED,
    HAS_GAINED,
    HAS_OPENED,
    KEYS,
    LAST_GIVER,
    LINE,
    LINE_COLUMNS,
    LINES,
    LOOKED_AT,
    MEMBER,
    N_AFRESH,
    N_CROWDED,
    N_GAINED,
    NOBODY,
    NONE,
    POOL_COLUMNS,
    POOLS,
    QUEUES,
    SHORT_TO,
    STEP_COLUMNS,
    STEPS,
    STOCK_COLUMNS,
    STOCKS,
    TURNS,
    WATCHED,
    WATCHERS,
    WATCHING,
    WINDOW,
)
from towerpace.engine.kernel.crowds import call, come, first_in_crowds, pass_over, set_alarm
from towerpace.engine.kernel.heaps import pop
from towerpace.engine.kernel.jit import part
from towerpace.engine.kernel.pools import short_of, take, watch
from towerpace.engine.kernel.scan import Arrays, Ints, next_start
from towerpace.engine.kernel.stories import expect, let_go_all, look_at, start

AFRESH_STEPS, IN_A_CROWD = -1, -2  # sources of the next step that are no pool


@part
def serve(a: Arrays, now: int) -> None:
    """Serve the waiting steps until none can start at this instant."""
    plan, site = a.plan, a.site
    while True:
        key, source = next_due(a, now)
        if key == NOBODY:
            break
        if try_to_start(a, key, source, now):
            let_go_all(a, now)  # it lasted no time: what its end brings comes before the others
    for k in range(site[N_GAINED]):
        stock = plan[STOCKS] + site[plan[GAINED] + k] * STOCK_COLUMNS
        site[stock + HAS_GAINED] = site[stock + HAS_OPENED] = site[stock + SHORT_TO] = 0
    site[N_GAINED] = 0


@part
def next_due(a: Arrays, now: int) -> tuple[int, int]:
    """The smallest key among those due, and where it stands: AFRESH_STEPS, a pool it watches, IN_A_CROWD."""
    plan, site = a.plan, a.site
    best, source, crowded = NOBODY, AFRESH_STEPS, False
    if site[N_AFRESH] > 0:
        best = site[plan[AFRESH]]
    for k in range(site[N_GAINED]):
        pool = site[plan[GAINED] + k]
        stock = plan[STOCKS] + pool * STOCK_COLUMNS
        crowded = crowded or site[stock + N_CROWDED] > 0
        if site[stock + FREE] == 0:
            continue
        if site[stock + HAS_GAINED] and site[stock + WATCHING] > 0:
            key = site[plan[plan[POOLS] + pool * POOL_COLUMNS + WATCHERS]]
            if key < best:
                best, source = key, pool
        if site[stock + N_CROWDED] > 0:
            key = first_in_crowds(a, pool, best, now)
            if key < best:
                best, source = key, IN_A_CROWD
    if crowded:
        pass_over(a, best, now)
    return best, source


@part
def step_of(plan: Ints, key: int) -> int:
    """The step that a key belongs to."""
    return int(plan[plan[TURNS] + (key & ((1 << plan[BITS]) - 1))])


@part
def try_to_start(a: Arrays, key: int, source: int, now: int) -> bool:
    """Start the step if it can, else send it to its spot; True if it started and lasted no time."""
    plan, site = a.plan, a.site
    step = step_of(plan, key)
    if source == IN_A_CROWD:
        call(plan, site, step)
    else:
        take_out(plan, site, source)
        if not may_start(a, step, key, now):
            return False
    return bool(start(a, step, take(plan, site, step), now))


@part
def take_out(plan: Ints, site: Ints, source: int) -> None:
    """Take the smallest key out of where it stands."""
    if source == AFRESH_STEPS:
        pop(site, plan[AFRESH], site[N_AFRESH])
        site[N_AFRESH] -= 1
    else:
        stock = plan[STOCKS] + source * STOCK_COLUMNS
        pop(site, plan[plan[POOLS] + source * POOL_COLUMNS + WATCHERS], site[stock + WATCHING])
        site[stock + WATCHING] -= 1


@part
def may_start(a: Arrays, step: int, key: int, now: int) -> bool:
    """Whether a step can start now; if not, it was sent to its spot."""
    plan, site = a.plan, a.site
    line = plan[plan[STEPS] + step * STEP_COLUMNS + LINE]
    if line != NONE and site[plan[plan[LINES] + line * LINE_COLUMNS + KEYS]] != key:
        site[plan[BEHIND] + step], site[plan[WATCHED] + step] = 1, NONE
        return False
    short = short_of(plan, site, step)
    if short != NONE:
        if plan[plan[STEPS] + step * STEP_COLUMNS + MEMBER] == NONE:
            watch(plan, site, short, step, key)
        else:
            site[plan[WATCHED] + step] = short
            come(plan, site, step)
        return False
    watched = site[plan[WATCHED] + step]
    if watched != NONE:
        site[plan[ENABLER] + step] = site[plan[STOCKS] + watched * STOCK_COLUMNS + LAST_GIVER]
        site[plan[WATCHED] + step] = NONE
    if not window_allows(a, step, now):
        return False
    if line != NONE:
        leave(plan, site, line, step)
    return True


@part
def window_allows(a: Arrays, step: int, now: int) -> bool:
    """Whether the step may start now; if not, it is looked at again at the opening at which it fits."""
    own = a.plan[STEPS] + step * STEP_COLUMNS
    window = a.plan[own + WINDOW]
    if window == NONE:
        return True
    opens = next_start(a, window, now, a.plan[own + EXPECTED])
    if opens > now:
        if a.plan[own + MEMBER] == NONE:
            expect(a.plan, a.site, step, LOOKED_AT, opens)
        else:
            set_alarm(a, come(a.plan, a.site, step), now)
    return bool(opens == now)


@part
def leave(plan: Ints, site: Ints, line: int, step: int) -> None:
    """The head leaves its line; who stood right behind it is looked at, and owes it the turn."""
    first, size = plan[plan[LINES] + line * LINE_COLUMNS + KEYS], plan[QUEUES] + line
    pop(site, first, site[size])
    site[size] -= 1
    if site[size] == 0:
        return
    head = step_of(plan, site[first])
    if site[plan[BEHIND] + head]:
        site[plan[BEHIND] + head] = 0
        site[plan[ENABLER] + head] = site[plan[ENABLER] + step]
        look_at(plan, site, head)
