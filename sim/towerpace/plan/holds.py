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

from towerpace.plan.arrays import PlanArrays

if TYPE_CHECKING:
    import networkx as nx


@dataclass(frozen=True)
class Hold:
    """Pool kept by `taker` until `giver` ends; steps by number."""

    pool: int
    taker: int
    giver: int


def holds(plan: PlanArraysArrays) -> list[Hold]:
    """Every pool kept beyond the end of the step that took it."""
    givers, takers = plan.give_taker.owners, plan.give_taker.values
    kept = (takers >= 0) & (takers != givers)
    columns = (plan.give_pool.values[kept], takers[kept], givers[kept])
    return [Hold(*row) for row in np.stack(columns, axis=1).tolist()]


class Holds:
    """The holds of a plan, and what can go wrong in them."""

    def __init__(self, plan: PlanArraysArrays) -> None:
        self._plan, self._kept = plan, holds(plan)

    @cached_property
    def _kin(self) -> _Kin:
        return _Kin(self._plan)

    def deadlocks(self) -> Iterator[str]:
        """One sentence per set of pools that wait for each other, and per giver not behind its taker."""
        if not self._kept:
            return
        import networkx as nx

        plan, between = self._plan, _Between(self._plan)
        asks: nx.DiGraph[int] = nx.DiGraph()
        for hold in self._kept:
            inside = between.steps(hold.taker, hold.giver)
            if inside is None:
                yield (
                    f"step '{plan.names[hold.giver]}': gives back what '{plan.names[hold.taker]}' took, "
                    "so it must come after it"
                )
                continue
            for asker, pool in inside:
                if not asks.has_edge(hold.pool, pool):
                    asks.add_edge(hold.pool, pool, hold=hold, asker=asker)
        for component in nx.strongly_connected_components(asks):
            if len(component) > 1 or any(asks.has_edge(p, p) for p in component):
                yield _spelled(plan, asks.subgraph(component))

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


class _Between:
    """The steps on the ways from one step to another, and the pools they ask for.

    Looked for backwards, no farther than the layer of the first: most holds are short.
    """

    def __init__(self, plan: PlanArraysArrays) -> None:
        layer = np.zeros(plan.n, dtype=np.int64)
        for k, steps in enumerate(plan.layers):
            layer[steps] = k
        self._layer: list[int] = layer.tolist()
        self._before, self._needs = plan.before.tolist(), plan.needs.tolist()
        self._known: dict[tuple[int, int], list[tuple[int, int]] | None] = {}

    def steps(self, first: int, last: int) -> list[tuple[int, int]] | None:
        """Askers behind the first, up to the last, each with a pool it asks for; None if there is no way."""
        key = (first, last)
        if key not in self._known:
            self._known[key] = self._askers(first, last)
        return self._known[key]

    def _askers(self, first: int, last: int) -> list[tuple[int, int]] | None:
        above = self._above(last, since=self._layer[first])
        if first not in above:
            return None
        inside = {first}
        for step in sorted(above, key=self._layer.__getitem__):
            if not inside.isdisjoint(self._before[step]):
                inside.add(step)
        inside.remove(first)
        return [(step, pool) for step in sorted(inside) for pool in self._needs[step]]

    def _above(self, last: int, *, since: int) -> set[int]:
        """The step itself and what it comes after, in no layer before `since`."""
        seen, open_ends = {last}, [last]
        while open_ends:
            for step in self._before[open_ends.pop()]:
                if step not in seen and self._layer[step] >= since:
                    seen.add(step)
                    open_ends.append(step)
        return seen


def _spelled(plan: PlanArrays, asks: nx.DiGraph[int]) -> str:
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

    def outside(self, hold: Hold) -> int:
        mine = self.below[hold.taker] | self.above[hold.taker] | self.bit[hold.taker]
        return self.above[hold.giver] & ~mine

    def any_of(self, bits: int) -> int:
        return self.marked[(bits & -bits).bit_length() - 1]
