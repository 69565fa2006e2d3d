"""Pools kept from one step to a later one: refuse what can lock for ever, warn of what might.

A hold runs from the step that takes a pool to the step that gives it back. While it lasts, the steps
inside may ask for other pools. If pool P is kept while Q is asked for, and Q while P, two holds can wait
for each other for ever: the same condition as for locks in a program (Coffman, Elphick & Shoshani 1971,
System deadlocks, ACM Computing Surveys 3: 67-78; from memory).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import networkx as nx

    from towerpace.plan.model import Plan


@dataclass(frozen=True)
class Hold:
    """Pool kept by `taker` until `giver` ends; steps by number."""

    pool: int
    taker: int
    giver: int


def holds(plan: Plan) -> list[Hold]:
    """Every pool kept beyond the end of the step that took it."""
    givers, takers = plan.give_taker.owners, plan.give_taker.values
    kept = (takers >= 0) & (takers != givers)
    columns = (plan.give_pool.values[kept], takers[kept], givers[kept])
    return [Hold(*row) for row in np.stack(columns, axis=1).tolist()]


class Holds:
    """The holds of a plan, and what can go wrong in them."""

    def __init__(self, plan: Plan) -> None:
        self._plan, self._kept = plan, holds(plan)

    @cached_property
    def _kin(self) -> _Kin:
        return _Kin(self._plan)

    def deadlocks(self) -> Iterator[str]:
        """One sentence per set of pools that wait for each other, and per giver not behind its taker."""
        if not self._kept:
            return
        import networkx as nx

        plan = self._plan
        asks: nx.DiGraph[int] = nx.DiGraph()
        for hold in self._kept:
            if self._kin.comes_before(hold.taker, hold.giver):
                self._add(hold, asks)
            else:
                yield (
                    f"step '{plan.names[hold.giver]}': gives back what '{plan.names[hold.taker]}' took, "
                    "so it must come after it"
                )
        for component in nx.strongly_connected_components(asks):
            if len(component) > 1 or any(asks.has_edge(p, p) for p in component):
                yield _spelled(plan, asks.subgraph(component))

    def _add(self, hold: Hold, asks: nx.DiGraph[int]) -> None:
        inside = self._kin.inside(hold)
        for pool, users in self._kin.users.items():
            if inside & users:
                asks.add_edge(hold.pool, pool, hold=hold, asker=self._kin.any_of(inside & users))

    def risky_waits(self) -> Iterator[str]:
        """Holds inside which a step waits for an outside step that needs the held pool."""
        plan = self._plan
        for hold in self._kept:
            kin = self._kin
            waits = kin.outside(hold) & kin.users.get(hold.pool, 0)
            if waits:
                yield (
                    f"'{plan.names[hold.taker]}' keeps {plan.pools.names[hold.pool]} until "
                    f"'{plan.names[hold.giver]}' ends, which waits for '{plan.names[kin.any_of(waits)]}' "
                    "outside, which needs it too: with few units this can lock"
                )


def _spelled(plan: Plan, asks: nx.DiGraph[int]) -> str:
    import networkx as nx

    parts = []
    for p, q in (edge[:2] for edge in nx.find_cycle(asks)):
        edge = asks.edges[p, q]
        parts.append(
            f"'{plan.names[edge['hold'].taker]}' keeps {plan.pools.names[p]} "
            f"while '{plan.names[edge['asker']]}' asks for {plan.pools.names[q]}"
        )
    return "this can lock for ever: " + ", and ".join(parts)


class _Kin:
    """Ancestors and descendants among the steps that take or give pools, as bit sets."""

    def __init__(self, plan: Plan) -> None:
        marked = np.flatnonzero(np.diff(plan.needs.start) + np.diff(plan.give_pool.start)).tolist()
        self.bit = {i: 1 << k for k, i in enumerate(marked)}
        self.marked = marked
        order = plan.order.tolist()
        self.above = self._closure(order, plan.before.tolist())
        self.below = self._closure(order[::-1], plan.after.tolist())
        self.users: dict[int, int] = {}
        needs = plan.needs.tolist()
        for i in marked:
            for pool in needs[i]:
                self.users[pool] = self.users.get(pool, 0) | self.bit[i]

    def _closure(self, order: list[int], lists: list[list[int]]) -> list[int]:
        sets = [0] * len(lists)
        for i in order:
            for j in lists[i]:
                sets[i] |= sets[j] | self.bit.get(j, 0)
        return sets

    def comes_before(self, i: int, j: int) -> bool:
        return bool(self.above[j] & self.bit[i])

    def inside(self, hold: Hold) -> int:
        return self.below[hold.taker] & (self.above[hold.giver] | self.bit[hold.giver])

    def outside(self, hold: Hold) -> int:
        mine = self.below[hold.taker] | self.above[hold.taker] | self.bit[hold.taker]
        return self.above[hold.giver] & ~mine

    def any_of(self, bits: int) -> int:
        return self.marked[(bits & -bits).bit_length() - 1]
