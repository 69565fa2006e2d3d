"""The logic between fronts, activities and milestones: which must be done, or begun, before which."""

from __future__ import annotations

from typing import NamedTuple

from towerpace.answers.baseline.items import Item
from towerpace.plan.model import Plan
from towerpace.units import Ints

WHOLE, PART = "FS", "partly"


class Link(NamedTuple):
    """One item waits for another, by their numbers.

    kind : "FS" where the whole of the first must be done before the second begins, else "partly": some step
    of the second waits for some step of the first.
    """

    before: int
    after: int
    kind: str


def links_of(plan: Plan, items: list[Item], owner: Ints) -> tuple[Link, ...]:
    """All links, those of the items in their order.

    owner : (n,) item of each step, -1 for steps that belong to none, such as trucks, crates and curing: what
    waits for them waits for the items that they wait for.
    """
    pairs: dict[tuple[int, int], bool] = {}
    last = [set(item.ends.tolist()) for item in items]
    first = [set(item.begins.tolist()) for item in items]
    for step, sources in enumerate(_sources(plan, owner)):
        after = int(owner[step])
        for source in sources if after >= 0 else ():
            before = int(owner[source])
            if before != after:
                whole = source in last[before] and step in first[after]
                pairs[before, after] = pairs.get((before, after), False) or whole
    return tuple(Link(a, b, WHOLE if whole else PART) for (a, b), whole in sorted(pairs.items()))


def _sources(plan: Plan, owner: Ints) -> list[frozenset[int]]:
    """For each step the steps of items that it waits for, through steps that belong to none."""
    sources: list[frozenset[int]] = [frozenset()] * plan.n
    belongs = (owner >= 0).tolist()
    before = plan.before.lists
    for step in plan.order.tolist():
        found: set[int] = set()
        for p in before[step]:
            found |= {p} if belongs[p] else sources[p]
        sources[step] = frozenset(found)
    return sources
