"""The compiled clock: from one minute at which something happens to the next."""

from __future__ import annotations

from collections.abc import Callable

from towerpace.engine.kernel.columns import (
    BECOMES_READY,
    BITS,
    ENDS,
    FAULT,
    FUTURE,
    KIND_BITS,
    MINUTE_0,
    MISSING,
    N_FUTURE,
    N_STEPS,
    NO_MOVE,
    OPENS,
    RINGS,
)
from towerpace.engine.kernel.crowds import ring
from towerpace.engine.kernel.heaps import pop
from towerpace.engine.kernel.jit import entry, part, stamp_of_sources
from towerpace.engine.kernel.scan import Arrays
from towerpace.engine.kernel.stories import become_ready, end, let_go_all, look_at, release, start
from towerpace.engine.kernel.turns import serve


@part
def happen(a: Arrays, event: int, now: int) -> None:
    """One event of this minute."""
    bits = a.plan[BITS]
    step = event & ((1 << bits) - 1)
    kind = event >> bits & ((1 << KIND_BITS) - 1)
    if kind == ENDS:
        end(a.plan, a.site, step, now)
    elif kind == BECOMES_READY:
        become_ready(a, step, now)
    elif kind == OPENS:
        start(a, step, NO_MOVE, now)
    elif kind == RINGS:
        ring(a, step, now)
    else:
        look_at(a.plan, a.site, step)


@part
def run_to_horizon(a: Arrays) -> None:
    """Everything, in the order of the clock: all events of a minute, then the turns, then the next minute."""
    plan, site = a.plan, a.site
    shift, first = plan[BITS] + KIND_BITS, plan[FUTURE]
    now = MINUTE_0
    while not site[FAULT]:
        let_go_all(a, now)
        while site[N_FUTURE] > 0 and site[first] >> shift == now:
            event = pop(site, first, site[N_FUTURE])
            site[N_FUTURE] -= 1
            happen(a, event, now)
            let_go_all(a, now)
        serve(a, now)
        if site[N_FUTURE] == 0:
            break
        now = site[first] >> shift


def _stamped(stamp: int) -> Callable[[Arrays], bool]:
    """The entry, with the stamp of the kernel's sources built in."""

    def play(a: Arrays) -> bool:
        """Play one trial in `site`; False if something would have grown past its room."""
        plan, site = a.plan, a.site
        for step in range(plan[N_STEPS]):
            if site[plan[MISSING] + step] == 0:
                release(plan, site, step)
        run_to_horizon(a)
        return stamp >= 0 and site[FAULT] == 0

    return entry(play)


play = _stamped(stamp_of_sources())
