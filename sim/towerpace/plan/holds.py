"""Pools kept from one step to a later one: refuse what can lock for ever, warn of what might.

A hold runs from the step that takes a pool to the step that gives it back. While it lasts, the steps
inside may ask for other pools. If pool P is kept while Q is asked for, and Q while P, two holds can wait
for each other for ever: the same condition as for locks in a program (Coffman, Elphick & Shoshani 1971,
System deadlocks, ACM Computing Surveys 3: 67-78; from memory).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

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
    found = []
    for giver in range(plan.n):
        pairs = zip(plan.give_pool[giver].tolist(), plan.give_taker[giver].tolist(), strict=True)
        found += [Hold(pool, taker, giver) for pool, taker in pairs if taker not in (-1, giver)]
    return found


def deadlocks(plan: Plan) -> Iterator[str]:
    """One sentence per set of pools that wait for each other, and per giver not behind its taker."""
    kept = holds(plan)
    if not kept:
        return
    kin = _Kin(plan)
    import networkx as nx

    asks: nx.DiGraph[int] = nx.DiGraph()
    for hold in kept:
        if not kin.comes_before(hold.taker, hold.giver):
            yield (
                f"step '{plan.names[hold.giver]}': gives back what '{plan.names[hold.taker]}' took, "
                "so it must come after it"
            )
            continue
        inside = kin.inside(hold)
        for pool, users in kin.users.items():
            if inside & users:
                asks.add_edge(hold.pool, pool, hold=hold, asker=kin.any_of(inside & users))
    for component in nx.strongly_connected_components(asks):
        if len(component) > 1 or any(asks.has_edge(p, p) for p in component):
            yield _spelled(plan, asks.subgraph(component))


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


def risky_waits(plan: Plan) -> Iterator[str]:
    """Holds inside which a step waits for an outside step that needs the held pool."""
    kept = holds(plan)
    if not kept:
        return
    kin = _Kin(plan)
    for hold in kept:
        waits = kin.outside(hold) & kin.users.get(hold.pool, 0)
        if waits:
            yield (
                f"'{plan.names[hold.taker]}' keeps {plan.pools.names[hold.pool]} until "
                f"'{plan.names[hold.giver]}' ends, which waits for '{plan.names[kin.any_of(waits)]}' "
                "outside, which needs it too: with few units this can lock"
            )


class _Kin:
    """Ancestors and descendants among the steps that take or give pools, as bit sets."""

    def __init__(self, plan: Plan) -> None:
        marked = [i for i in range(plan.n) if plan.needs[i].size or plan.give_pool[i].size]
        self.bit = {i: 1 << k for k, i in enumerate(marked)}
        self.marked = marked
        order = plan.order.tolist()
        self.above = self._closure(order, plan.before.tolist())
        self.below = self._closure(order[::-1], plan.after.tolist())
        self.users: dict[int, int] = {}
        for i in marked:
            for pool in plan.needs[i].tolist():
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
