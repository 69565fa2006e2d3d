"""Pools kept from one step to a later one: refuse what can lock for ever, warn of what might.

A hold runs from the step that takes a pool to the step that gives it back. While it lasts, the steps
inside may ask for other pools. If pool P is kept while Q is asked for, and Q while P, two holds can wait
for each other for ever: the same condition as for locks in a program (Coffman, Elphick & Shoshani 1971,
System deadlocks, ACM Computing Surveys 3: 67-78; from memory).
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from towerpace.plan.arrays import PlanArrays

if TYPE_CHECKING:
    import networkx as nx


Group = dict[int, set[int]]  # pool -> steps that give it back


def holds(plan: PlanArrays) -> dict[int, Group]:
    """Every pool kept beyond the end of the step that took it, by that step."""
    givers, takers = plan.give_taker.owners, plan.give_taker.values
    kept = (takers >= 0) & (takers != givers)
    columns = (takers[kept].tolist(), plan.give_pool.values[kept].tolist(), givers[kept].tolist())
    groups: dict[int, Group] = {}
    for taker, pool, giver in zip(*columns, strict=True):
        groups.setdefault(taker, {}).setdefault(pool, set()).add(giver)
    return groups


class Holds:
    """The holds of a plan, and what can go wrong in them."""

    def __init__(self, plan: PlanArrays) -> None:
        self._plan, self._kept = plan, holds(plan)

    def deadlocks(self) -> Iterator[str]:
        """One sentence per set of pools that wait for each other, and per giver not behind its taker."""
        if not self._kept:
            return
        import networkx as nx

        plan, between = self._plan, _Between(self._plan)
        asks: nx.DiGraph[int] = nx.DiGraph()
        for taker, group in self._kept.items():
            inside: dict[frozenset[int], set[int]] = {}
            for pool, givers in group.items():
                steps = inside.get(key := frozenset(givers))
                if steps is None:
                    steps = inside[key] = between.steps(taker, givers)
                    yield from (self._too_early(taker, giver) for giver in sorted(givers - steps))
                for asker, asked in between.askers(steps):
                    if not asks.has_edge(pool, asked):
                        asks.add_edge(pool, asked, taker=taker, asker=asker)
        for component in nx.strongly_connected_components(asks):
            if len(component) > 1 or any(asks.has_edge(p, p) for p in component):
                yield _spelled(plan, asks.subgraph(component))

    def _too_early(self, taker: int, giver: int) -> str:
        names = self._plan.names
        return f"step '{names[giver]}': gives back what '{names[taker]}' took, so it must come after it"

    def risky_waits(self) -> Iterator[str]:
        """Holds inside which a step waits for an outside step that needs the held pool."""
        plan, kin = self._plan, _Kin(self._plan)
        for taker, group in self._kept.items():
            for pool, giver in ((pool, giver) for pool, givers in group.items() for giver in sorted(givers)):
                waits = kin.outside(taker, giver) & kin.users.get(pool, 0)
                if waits:
                    yield (
                        f"'{plan.names[taker]}' keeps {plan.pools.names[pool]} until "
                        f"'{plan.names[giver]}' ends, which waits for '{plan.names[kin.any_of(waits)]}' "
                        "outside, which needs it too: with few units this can lock"
                    )


class _Between:
    """The steps on the ways from one step to others.

    Looked for backwards, no farther than the layer of the first: most holds are short.
    """

    def __init__(self, plan: PlanArrays) -> None:
        layer = np.zeros(plan.n, dtype=np.int64)
        for k, steps in enumerate(plan.layers):
            layer[steps] = k
        self._layer: list[int] = layer.tolist()
        self._before, self._needs = plan.before.tolist(), plan.needs.tolist()

    def steps(self, first: int, last: set[int]) -> set[int]:
        """Steps that come after the first and are, or come before, one of the last."""
        layer, before = self._layer, self._before
        since, seen, open_ends = layer[first], set(last), list(last)
        while open_ends:
            for step in before[open_ends.pop()]:
                if step not in seen and layer[step] > since:
                    seen.add(step)
                    open_ends.append(step)
        inside = {first}
        for step in sorted(seen, key=layer.__getitem__):
            if not inside.isdisjoint(before[step]):
                inside.add(step)
        inside.remove(first)
        return inside

    def askers(self, steps: set[int]) -> Iterator[tuple[int, int]]:
        """Each of some steps with each pool that it asks for."""
        for step in sorted(steps):
            for pool in self._needs[step]:
                yield step, pool


def _spelled(plan: PlanArrays, asks: nx.DiGraph[int]) -> str:
    import networkx as nx

    parts = []
    for p, q in (edge[:2] for edge in nx.find_cycle(asks)):
        edge = asks.edges[p, q]
        parts.append(
            f"'{plan.names[edge['taker']]}' keeps {plan.pools.names[p]} "
            f"while '{plan.names[edge['asker']]}' asks for {plan.pools.names[q]}"
        )
    return "this can lock for ever: " + ", and ".join(parts)


class _Kin:
    """Ancestors and descendants among the steps that take or give pools, as bit sets."""

    def __init__(self, plan: PlanArrays) -> None:
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

    def outside(self, taker: int, giver: int) -> int:
        mine = self.below[taker] | self.above[taker] | self.bit[taker]
        return self.above[giver] & ~mine

    def any_of(self, bits: int) -> int:
        return self.marked[(bits & -bits).bit_length() - 1]
