"""For which pools a link of a chain waited, and how long their unit had been on its way to it."""

from __future__ import annotations

import numpy as np

from towerpace.answers.why.chain import Link
from towerpace.draws import Draw
from towerpace.engine.diary import NEVER, Diary
from towerpace.plan.model import NONE, Plan


class Scarce:
    """Looks at the pools of one plan; what does not change from trial to trial is prepared once."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self._takers = plan.needs.owners
        self._givers = plan.give_pool.owners
        self._taking = [np.flatnonzero(plan.needs.values == k) for k in range(len(plan.pools.names))]
        self._giving = [np.flatnonzero(plan.give_pool.values == k) for k in range(len(plan.pools.names))]

    def pools(self, draw: Draw, diary: Diary, *, giver: Link, link: Link) -> list[int]:
        """Pools that `link` was short of until `giver` gave units of them back; none if it waited for none.

        A gang and its crane come free together: both are named only if too few of both were free before.
        """
        if link.pool < 0:
            return []
        given = {pool for pool, _, _ in self.plan.lists.gives[giver.step]}
        asked = [(pool, quantity) for pool, quantity in self.plan.lists.needs[link.step] if pool in given]
        at = giver.finished
        short = [pool for pool, n in asked if self._free_before(draw, diary, pool, at) < n]
        return short or [link.pool]

    def _free_before(self, draw: Draw, diary: Diary, pool: int, minute: int) -> int:
        """Free units just before a minute."""
        plan, taking, giving = self.plan, self._taking[pool], self._giving[pool]
        takers, givers = self._takers[taking], self._givers[giving]
        took = (diary.started[takers] != NEVER) & (diary.started[takers] < minute) & ~draw.skip[takers]
        ended = diary.finished[givers]
        gave = (ended != NEVER) & (ended < minute) & ~draw.skip[givers]
        taken, given = plan.quantities.values[taking][took], plan.give_quantity.values[giving][gave]
        return int(plan.pools.units[pool] - taken.sum() + given.sum())

    def kept(self, diary: Diary, links: list[Link], k: int, pool: int) -> int:
        """Minutes for which the front of link k had held the pool when it gave it back.

        Only minutes count in which the chain ran on that front. A pool kept over
        several steps (a gang over all panels of a front) counts from the step that took it.
        """
        giver = links[k]
        taker = next((t for p, _, t in self.plan.lists.gives[giver.step] if p == pool), NONE)
        taken = giver.started if taker == NONE else int(diary.started[taker])
        first = giver.started
        for link in reversed(links[:k]):
            if self._front(link.step) != self._front(giver.step) or link.finished <= taken:
                break
            first = max(link.started, taken)
        return giver.finished - first

    def _front(self, step: int) -> tuple[object, ...]:
        tags = self.plan.tags(step)
        return (step,) if tags.level is None else (tags.trade, tags.level, tags.zone)
