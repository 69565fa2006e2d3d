"""A step from the end of its predecessors to its own end; the compiled twin of `engine.reference.Site`."""

from __future__ import annotations

from towerpace.engine.diary import DATE
from towerpace.engine.kernel.columns import (
    AFRESH,
    AFTER,
    BECOMES_READY,
    BITS,
    DATES,
    ENABLER,
    ENDS,
    EXPECTED,
    FAULT,
    FINISHED,
    FIRST_COME,
    FUTURE,
    FUTURE_ROOM,
    HORIZON,
    KEYS,
    KIND_BITS,
    LINE,
    LINE_COLUMNS,
    LINE_ROOM,
    LINES,
    MISSING,
    MODE,
    N_AFRESH,
    N_FUTURE,
    N_STACK,
    N_STEPS,
    NEEDS,
    NO_MOVE,
    NONE,
    OPENS,
    QUEUES,
    READY,
    SKIPS,
    STACK,
    STARTED,
    STEP_COLUMNS,
    STEPS,
    TURN,
    WINDOW,
    WORKS,
)
from towerpace.engine.kernel.heaps import push
from towerpace.engine.kernel.jit import part
from towerpace.engine.kernel.pools import give_all
from towerpace.engine.kernel.scan import Arrays, Ints, done, next_start
from towerpace.plan.lists import UNBROKEN, WORK


@part
def let_go_all(a: Arrays, now: int) -> None:
    """Begin the stories of the steps on the stack, and of those that they release; skipped ones pass."""
    plan, site = a.plan, a.site
    while site[N_STACK] > 0:
        site[N_STACK] -= 1
        step = site[plan[STACK] + site[N_STACK]]
        if site[plan[SKIPS] + step]:
            site[plan[READY] + step] = site[plan[STARTED] + step] = now
            pass_on(plan, site, step, now)
        elif site[plan[DATES] + step] > now:
            site[plan[ENABLER] + step] = DATE
            expect(plan, site, step, BECOMES_READY, site[plan[DATES] + step])
        else:
            become_ready(a, step, now)


@part
def expect(plan: Ints, site: Ints, step: int, kind: int, minute: int) -> None:
    """Have something happen to a step (or to a class of a crowd) later; beyond the horizon nothing does."""
    if minute > plan[HORIZON]:
        return
    if site[N_FUTURE] == plan[FUTURE_ROOM]:
        site[FAULT] = 1
        return
    event = (minute << KIND_BITS | kind) << plan[BITS] | step
    push(site, plan[FUTURE], site[N_FUTURE], event)
    site[N_FUTURE] += 1


@part
def become_ready(a: Arrays, step: int, now: int) -> None:
    """Predecessors have ended and the date has come: queue for pools, wait for the window, or start."""
    plan, site = a.plan, a.site
    own = plan[STEPS] + step * STEP_COLUMNS
    site[plan[READY] + step] = now
    if plan[own + NEEDS] < plan[own + STEP_COLUMNS + NEEDS]:
        join(plan, site, step)
        return
    opens = now
    if plan[own + WINDOW] != NONE:
        opens = next_start(a, plan[own + WINDOW], now, plan[own + EXPECTED])
    if opens == now:
        start(a, step, NO_MOVE, now)
    elif opens != NONE:
        expect(plan, site, step, OPENS, opens)


@part
def key_of(plan: Ints, site: Ints, step: int) -> int:
    """(ready minute if first come, else 0; rank; number) in one number, in the same order."""
    own = plan[STEPS] + step * STEP_COLUMNS
    ready = site[plan[READY] + step] if plan[own + FIRST_COME] else 0
    return int(ready << plan[BITS] | plan[own + TURN])


@part
def join(plan: Ints, site: Ints, step: int) -> None:
    """Join the waiting steps, and the line if there is one."""
    line = plan[plan[STEPS] + step * STEP_COLUMNS + LINE]
    if line != NONE:
        row, size = plan[LINES] + line * LINE_COLUMNS, plan[QUEUES] + line
        if site[size] == plan[row + LINE_ROOM]:
            site[FAULT] = 1
            return
        push(site, plan[row + KEYS], site[size], key_of(plan, site, step))
        site[size] += 1
    look_at(plan, site, step)


@part
def look_at(plan: Ints, site: Ints, step: int) -> None:
    """Have a waiting step looked at in this instant."""
    if site[N_AFRESH] == plan[N_STEPS]:
        site[FAULT] = 1
        return
    push(site, plan[AFRESH], site[N_AFRESH], key_of(plan, site, step))
    site[N_AFRESH] += 1


@part
def start(a: Arrays, step: int, move: int, now: int) -> bool:
    """Start a step now; a step of no length ends at once: True if it did."""
    plan, site = a.plan, a.site
    site[plan[STARTED] + step] = now
    ends = end_of(a, step, move, now)
    if ends == now:
        end(plan, site, step, now)
        return True
    if ends != NONE:
        expect(plan, site, step, ENDS, ends)
    return False


@part
def end_of(a: Arrays, step: int, move: int, now: int) -> int:
    """The minute a step started now will end; NONE if that lies beyond the horizon."""
    plan = a.plan
    work = a.site[plan[WORKS] + step]
    if work > plan[HORIZON] - now - move:
        return NONE
    own = plan[STEPS] + step * STEP_COLUMNS
    mode = plan[own + MODE]
    if mode in (WORK, UNBROKEN):
        return done(a, plan[own + WINDOW], now, work + move, mode == UNBROKEN)
    return int(now + work + move)


@part
def end(plan: Ints, site: Ints, step: int, now: int) -> None:
    """End a step: hand over what it gives, and let its successors go."""
    give_all(plan, site, step, now)
    pass_on(plan, site, step, now)


@part
def pass_on(plan: Ints, site: Ints, step: int, now: int) -> None:
    """Write the end down; successors whose last predecessor this was go on the stack."""
    site[plan[FINISHED] + step] = now
    own = plan[STEPS] + step * STEP_COLUMNS
    for k in range(plan[own + AFTER], plan[own + STEP_COLUMNS + AFTER]):
        j = plan[k]
        # The last predecessor to end enables; of one minute, the highest number.
        last = site[plan[ENABLER] + j]
        if last < 0 or step > last or site[plan[FINISHED] + last] < now:
            site[plan[ENABLER] + j] = step
        site[plan[MISSING] + j] -= 1
        if site[plan[MISSING] + j] == 0:
            release(plan, site, j)


@part
def release(plan: Ints, site: Ints, step: int) -> None:
    """Put a step whose predecessors have ended on the stack."""
    if site[N_STACK] == plan[N_STEPS]:
        site[FAULT] = 1
        return
    site[plan[STACK] + site[N_STACK]] = step
    site[N_STACK] += 1
