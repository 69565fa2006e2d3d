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
    KEYS,
    LAST_GIVER,
    LINE,
    LINE_COLUMNS,
    LINES,
    LOOKED_AT,
    N_AFRESH,
    N_GAINED,
    NONE,
    POOL_COLUMNS,
    POOLS,
    QUEUES,
    STEP_COLUMNS,
    STEPS,
    STOCK_COLUMNS,
    STOCKS,
    STORIES,
    STORY_COLUMNS,
    TURNS,
    WATCHED,
    WATCHERS,
    WATCHING,
    WINDOW,
)
from towerpace.engine.kernel.heaps import pop
from towerpace.engine.kernel.jit import part
from towerpace.engine.kernel.pools import short_of, take, watch
from towerpace.engine.kernel.scan import Arrays, Ints, next_start
from towerpace.engine.kernel.stories import expect, let_go_all, look_at, start


@part
def serve(a: Arrays, now: int) -> None:
    """Serve the waiting steps until none can start at this instant."""
    plan, site = a.plan, a.site
    while True:
        key = next_due(plan, site)
        if key == NONE:
            break
        if try_to_start(a, key, now):
            let_go_all(a, now)  # it lasted no time: what its end brings comes before the others
    for k in range(site[N_GAINED]):
        site[plan[STOCKS] + site[plan[GAINED] + k] * STOCK_COLUMNS + HAS_GAINED] = 0
    site[N_GAINED] = 0


@part
def next_due(plan: Ints, site: Ints) -> int:
    """Take out the smallest key among those due: looked at afresh, or watching a pool that gained."""
    best, source = NONE, NONE
    if site[N_AFRESH] > 0:
        best = site[plan[AFRESH]]
    for k in range(site[N_GAINED]):
        pool = site[plan[GAINED] + k]
        stock = plan[STOCKS] + pool * STOCK_COLUMNS
        if site[stock + FREE] > 0 and site[stock + WATCHING] > 0:
            key = site[plan[plan[POOLS] + pool * POOL_COLUMNS + WATCHERS]]
            if best == NONE or key < best:
                best, source = key, pool
    if source != NONE:
        stock = plan[STOCKS] + source * STOCK_COLUMNS
        pop(site, plan[plan[POOLS] + source * POOL_COLUMNS + WATCHERS], site[stock + WATCHING])
        site[stock + WATCHING] -= 1
    elif best != NONE:
        pop(site, plan[AFRESH], site[N_AFRESH])
        site[N_AFRESH] -= 1
    return int(best)


@part
def step_of(plan: Ints, key: int) -> int:
    """The step that a key belongs to."""
    return int(plan[plan[TURNS] + (key & ((1 << plan[BITS]) - 1))])


@part
def try_to_start(a: Arrays, key: int, now: int) -> bool:
    """Start the step if it can, else send it to its spot; True if it started and lasted no time."""
    plan, site = a.plan, a.site
    step = step_of(plan, key)
    story = plan[STORIES] + step * STORY_COLUMNS
    line = plan[plan[STEPS] + step * STEP_COLUMNS + LINE]
    if line != NONE and site[plan[plan[LINES] + line * LINE_COLUMNS + KEYS]] != key:
        site[story + BEHIND], site[story + WATCHED] = 1, NONE
        return False
    short = short_of(plan, site, step)
    if short != NONE:
        watch(plan, site, short, step, key)
        return False
    watched = site[story + WATCHED]
    if watched != NONE:
        site[story + ENABLER] = site[plan[STOCKS] + watched * STOCK_COLUMNS + LAST_GIVER]
        site[story + WATCHED] = NONE
    if not window_allows(a, step, now):
        return False
    if line != NONE:
        leave(plan, site, line, step)
    return bool(start(a, step, take(plan, site, step), now))


@part
def window_allows(a: Arrays, step: int, now: int) -> bool:
    """Whether the step may start now; if not, it is looked at again at the opening at which it fits."""
    own = a.plan[STEPS] + step * STEP_COLUMNS
    window = a.plan[own + WINDOW]
    if window == NONE:
        return True
    opens = next_start(a, window, now, a.plan[own + EXPECTED])
    if opens > now:
        expect(a.plan, a.site, step, LOOKED_AT, opens)
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
    story = plan[STORIES] + head * STORY_COLUMNS
    if site[story + BEHIND]:
        site[story + BEHIND] = 0
        site[story + ENABLER] = site[plan[STORIES] + step * STORY_COLUMNS + ENABLER]
        look_at(plan, site, head)
