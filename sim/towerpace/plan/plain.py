"""A quick look at all parts of a plan: whether there is anything odd that deserves a second one.

Most plans are large, and nothing is wrong with them. The look goes over every step once and makes no
sentences; it may suspect what is right, never pass what is wrong.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import chain

import numpy as np

from towerpace.plan.parts import MODES, Give, Pool, Step, Window

MOST_MIN = 2**31 - 2
WHOLE = {int, np.int64}


def all_plain(steps: Sequence[Step], *, pools: Sequence[Pool], windows: Sequence[Window]) -> bool:
    """Whether every step is beyond suspicion."""
    named = {step.name: step for step in steps}
    look = _Look(named, {pool.name: pool for pool in pools}, {w.name: w.longest_shift for w in windows})
    # Many steps share their needs: of those that do, one stands for all.
    users = {(id(s.needs), id(s.keeps), s.mode): s for s in steps if s.needs or s.keeps}
    return (
        len(named) == len(steps)
        and named.keys() >= set(chain.from_iterable(step.after for step in steps))
        and _whole_numbers(steps)
        and look.no_flag_is_odd()
        and all(look.at_window(*pair) for pair in {(step.window, step.mode) for step in steps})
        and all(look.fits(step) for step in steps if step.mode == "start")
        and all(map(look.at_pools, users.values()))
        and all(look.at_gives(give, step) for step in steps for give in step.gives)
    )


def _whole_numbers(steps: Sequence[Step]) -> bool:
    """Whether minutes and ranks are whole numbers in their bounds; expected minutes are a rare word."""
    for numbers in ([s.work for s in steps], [s.date for s in steps]):
        if not WHOLE.issuperset(map(type, numbers)) or not min(numbers, default=0) >= 0:
            return False
        if max(numbers, default=0) > MOST_MIN:
            return False
    return WHOLE.issuperset(map(type, (s.rank for s in steps))) and all(s.expected is None for s in steps)


class _Look:
    """What a step may refer to."""

    def __init__(
        self, steps: Mapping[str, Step], pools: Mapping[str, Pool], longest: Mapping[str, int]
    ) -> None:
        self._steps, self._pools, self._longest = steps, pools, longest
        self._modes = frozenset(MODES)

    def no_flag_is_odd(self) -> bool:
        """Whether remedies carry flags, and the steps of a flag are planned together or not at all."""
        planned: dict[str, bool] = {}
        for step in self._steps.values():
            if step.skip is None:
                if not step.planned:
                    return False
            elif planned.setdefault(step.skip, step.planned) != step.planned:
                return False
        return True

    def at_window(self, window: str | None, mode: str) -> bool:
        """Whether there is such a window, and a mode that goes with it."""
        if window is None:
            return mode == "always"
        return mode != "always" and mode in self._modes and window in self._longest

    def fits(self, step: Step) -> bool:
        """Whether a step that must end within a shift is short enough for one."""
        return step.window is not None and step.work <= self._longest[step.window]

    def at_pools(self, step: Step) -> bool:
        """Whether the pools are there, may be asked for together, and what is kept was taken."""
        needs, orders, lines, placed = step.needs, set(), set(), 0
        for name, quantity in needs.items():
            pool = self._pools.get(name)
            if pool is None or type(quantity) not in WHOLE or quantity < 1:
                return False
            orders.add(pool.order)
            if pool.line:
                lines.add(pool.line)
            if pool.at is not None:
                placed += quantity
        if len(orders) > 1 or len(lines) > 1 or placed > 1 or (placed and step.mode == "unbroken"):
            return False
        return all(map(needs.__contains__, step.keeps))

    def at_gives(self, give: Give, step: Step) -> bool:
        """Whether a pool is given whole units, by a step that is left out when the taker is."""
        pool = self._pools.get(give.pool)
        if pool is None or type(give.quantity) not in WHOLE or give.quantity < 1:
            return False
        if give.taker is None:
            return pool.at is None
        taker = self._steps.get(give.taker)
        return taker is not None and taker.skip == step.skip
