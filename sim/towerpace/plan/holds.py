"""Pools kept from one step to a later one: refuse what can lock for ever, warn of what might.

A hold runs from the step that takes a pool to the step that gives it back. While it lasts, the steps
inside may ask for other pools. If pool P is kept while Q is asked for, and Q while P, two holds can wait
for each other for ever: the same condition as for locks in a program (Coffman, Elphick & Shoshani 1971,
System deadlocks, ACM Computing Surveys 3: 67-78; from memory).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING

import numpy as np

from towerpace.plan.arrays import NONE, PlanArrays
from towerpace.units import Flags, Ints

if TYPE_CHECKING:
    import networkx as nx


Group = dict[int, set[int]]  # pool -> steps that give it back
Edges = dict[tuple[int, int], tuple[int, int]]  # pool kept, pool asked for -> who keeps, who asks


@dataclass(frozen=True)
class _Kept:
    """Units kept beyond the end of the step that took them, a row for each giver."""

    taker: Ints
    pool: Ints
    giver: Ints

    @classmethod
    def of(cls, plan: PlanArrays) -> _Kept:
        givers, takers = plan.give_taker.owners, plan.give_taker.values
        kept = (takers >= 0) & (takers != givers)
        return cls(takers[kept], plan.give_pool.values[kept], givers[kept])

    def only(self, which: Flags) -> _Kept:
        return _Kept(self.taker[which], self.pool[which], self.giver[which])

    def groups(self) -> dict[int, Group]:
        """Every pool that is kept, by the step that took it."""
        groups: dict[int, Group] = {}
        columns = (self.taker.tolist(), self.pool.tolist(), self.giver.tolist())
        for taker, pool, giver in zip(*columns, strict=True):
            groups.setdefault(taker, {}).setdefault(pool, set()).add(giver)
        return groups


class Holds:
    """The holds of a plan, and what can go wrong in them."""

    def __init__(self, plan: PlanArrays) -> None:
        self._plan, self._kept = plan, _Kept.of(plan)

    def deadlocks(self) -> Iterator[str]:
        """One sentence per set of pools that wait for each other, and per giver not behind its taker."""
        if not self._kept.taker.size:
            return
        plan, edges = self._plan, dict[tuple[int, int], tuple[int, int]]()
        in_a_row = _in_a_row(plan, self._kept, edges)
        yield from _between(plan, self._kept.only(~in_a_row).groups(), edges)
        if not _goes_round(edges):
            return
        import networkx as nx  # takes longer than all that is looked at here

        asks: nx.DiGraph[int] = nx.DiGraph()
        asks.add_edges_from((p, q, {"taker": who[0], "asker": who[1]}) for (p, q), who in edges.items())
        for component in nx.strongly_connected_components(asks):
            if len(component) > 1 or any(asks.has_edge(p, p) for p in component):
                yield _spelled(plan, asks.subgraph(component))

    def risky_waits(self) -> Iterator[str]:
        """Holds inside which a step waits for an outside step that needs the held pool."""
        plan, kept = self._plan, self._kept.only(self._may_wait())
        waited_for = _outside(plan, kept)
        if not waited_for:
            return
        kin = _Kin(plan, waited_for)
        for taker, group in kept.groups().items():
            for pool, giver in ((pool, giver) for pool, givers in group.items() for giver in sorted(givers)):
                waits = kin.outside(taker, giver) & kin.users.get(pool, 0)
                if waits:
                    yield (
                        f"'{plan.names[taker]}' keeps {plan.pools.names[pool]} until "
                        f"'{plan.names[giver]}' ends, which waits for '{plan.names[kin.any_of(waits)]}' "
                        "outside, which needs it too: with few units this can lock"
                    )

    def _may_wait(self) -> Flags:
        """Of which holds a step may wait for something outside, for each row of what is kept.

        What follows its taker in single file waits besides for steps alone that come after nothing.
        """
        plan, kept = self._plan, self._kept
        needs_nothing_done = _begins(plan, kept)[plan.needs.owners]
        return ~_in_a_row(plan, kept, {}) | np.isin(kept.pool, plan.needs.values[needs_nothing_done])


def _in_a_row(plan: PlanArrays, kept: _Kept, edges: Edges) -> Flags:
    """Of which holds all givers follow in single file, for each row of `kept`; notes what they ask for.

    Each step of a file has one predecessor that may come after the taker, so nothing else lies between: most
    holds are a short visit, or a truck that waits for its hoist.
    """
    previous, asking = _one_before(plan, kept), np.diff(plan.needs.start) > 0
    at, rows = kept.giver.copy(), np.arange(len(kept.giver))
    followed = np.zeros(len(rows), dtype=np.bool_)
    asked: list[tuple[Ints, Ints]] = []
    while rows.size:
        asks = asking[at]
        asked.append((rows[asks], at[asks]))
        at = previous[at]
        there = at == kept.taker[rows]
        followed[rows[there]] = True
        on = ~there & (at != NONE)
        rows, at = rows[on], at[on]
    holds = kept.taker * len(plan.pools.names) + kept.pool
    in_a_row = ~np.isin(holds, holds[~followed])
    for rows, steps in asked:
        follow = in_a_row[rows]
        for row, step in zip(rows[follow].tolist(), steps[follow].tolist(), strict=True):
            for pool in plan.needs[step].tolist():
                edges.setdefault((int(kept.pool[row]), pool), (int(kept.taker[row]), step))
    return in_a_row


def _one_before(plan: PlanArrays, kept: _Kept) -> Ints:
    """The only predecessor of each step that may come after a taker, or be one, (n,); -1 if not one alone."""
    late = ~_begins(plan, kept)[plan.before.values]
    owners, values = plan.before.owners[late], plan.before.values[late]
    previous = np.full(plan.n, NONE, dtype=np.int64)
    alone = np.bincount(owners, minlength=plan.n)[owners] == 1
    previous[owners[alone]] = values[alone]
    return previous


def _begins(plan: PlanArrays, kept: _Kept) -> Flags:
    """The steps, no takers, that come after nothing, for they have no predecessor, (n,)."""
    begins: Flags = np.diff(plan.before.start) == 0
    begins[kept.taker] = False
    return begins


def _between(plan: PlanArrays, groups: dict[int, Group], edges: Edges) -> Iterator[str]:
    """A sentence for each giver that does not come after its taker; notes what is asked for in between."""
    spans = [(t, givers, pools) for t, group in groups.items() for givers, pools in _by_givers(group)]
    behind = _behind(plan, [taker for taker, _, _ in spans])
    names, before, asking = plan.names, plan.before.lists, (np.diff(plan.needs.start) > 0).tolist()
    for k, (taker, givers, pools) in enumerate(spans):
        late = {giver for giver in givers if behind[giver] >> k & 1}
        for giver in sorted(givers - late):
            yield f"step '{names[giver]}': gives back what '{names[taker]}' took, so it must come after it"
        inside, open_ends = late, list(late)
        while open_ends:
            step = open_ends.pop()
            if asking[step]:
                for edge in product(pools, plan.needs[step].tolist()):
                    edges.setdefault(edge, (taker, step))
            earlier = [p for p in before[step] if behind[p] >> k & 1 and p not in inside]
            inside.update(earlier)
            open_ends += earlier


def _behind(plan: PlanArrays, takers: list[int]) -> list[int]:
    """For each step the takers that it comes after, as bits by their place in the list."""
    own: dict[int, int] = {}
    for k, taker in enumerate(takers):
        own[taker] = own.get(taker, 0) | 1 << k
    return _met(plan.order.tolist(), plan.before.lists, own)


def _outside(plan: PlanArrays, kept: _Kept) -> list[int]:
    """The steps that some hold may wait for, that need what is kept and are no kin of its taker.

    Bits are those of takers, mostly few: a bit for each step of a large plan is a square of it in memory.
    """
    bits = {taker: 1 << k for k, taker in enumerate(dict.fromkeys(kept.taker.tolist()))}
    of_givers, keepers = dict[int, int](), dict[int, int]()
    for taker, pool, giver in zip(kept.taker.tolist(), kept.pool.tolist(), kept.giver.tolist(), strict=True):
        of_givers[giver] = of_givers.get(giver, 0) | bits[taker]
        keepers[pool] = keepers.get(pool, 0) | bits[taker]
    order, after = plan.order.tolist(), plan.after.lists
    awaited = _met(order[::-1], after, of_givers)
    behind = _met(order, plan.before.lists, bits)
    asks = np.isin(plan.needs.values, list(keepers))
    pairs = zip(plan.needs.owners[asks].tolist(), plan.needs.values[asks].tolist(), strict=True)
    found = [
        (step, odd)
        for step, pool in pairs
        if (odd := awaited[step] & keepers[pool] & ~(behind[step] | bits.get(step, 0)))
    ]
    if not found:
        return []
    ahead = _met(order[::-1], after, bits)
    return sorted({step for step, odd in found if odd & ~ahead[step]})


def _met(order: list[int], lists: list[list[int]], own: dict[int, int]) -> list[int]:
    """For each step the bits of all steps on the ways to it. lists : the neighbours that ways come from."""
    met, passed_on = [0] * len(lists), [0] * len(lists)
    for step in order:
        bits = 0
        for earlier in lists[step]:
            bits |= passed_on[earlier]
        met[step] = bits
        passed_on[step] = bits | own[step] if step in own else bits
    return met


def _by_givers(group: Group) -> Iterator[tuple[frozenset[int], list[int]]]:
    """Pools that are given back by the same steps, together."""
    pools: dict[frozenset[int], list[int]] = {}
    for pool, givers in group.items():
        pools.setdefault(frozenset(givers), []).append(pool)
    yield from pools.items()


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


def _goes_round(edges: Iterable[tuple[int, int]]) -> bool:
    """Whether some way along the edges comes back to where it began.

    >>> _goes_round([(1, 2), (2, 3), (1, 3)]), _goes_round([(1, 2), (2, 3), (3, 2)])
    (False, True)
    """
    left = set(edges)
    while left:
        on = {q for _, q in left}
        going_on = {(p, q) for p, q in left if p in on}  # nothing comes to where the others begin
        if going_on == left:
            return True
        left = going_on
    return False


class _Kin:
    """Ancestors and descendants of every step among those that holds may wait for, as bit sets."""

    def __init__(self, plan: PlanArrays, marked: list[int]) -> None:
        self.bit = {i: 1 << k for k, i in enumerate(marked)}
        self.marked = marked
        order = plan.order.tolist()
        self.above = _met(order, plan.before.lists, self.bit)
        self.below = _met(order[::-1], plan.after.lists, self.bit)
        self.users: dict[int, int] = {}
        needs = plan.needs.lists
        for i in marked:
            for pool in needs[i]:
                self.users[pool] = self.users.get(pool, 0) | self.bit[i]

    def outside(self, taker: int, giver: int) -> int:
        mine = self.below[taker] | self.above[taker] | self.bit.get(taker, 0)
        return self.above[giver] & ~mine

    def any_of(self, bits: int) -> int:
        return self.marked[(bits & -bits).bit_length() - 1]
