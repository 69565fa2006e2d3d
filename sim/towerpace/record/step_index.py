"""Steps of a plan by what they belong to: how a record that knows names only finds them."""

from __future__ import annotations

from collections.abc import Iterable
from weakref import WeakKeyDictionary

import numpy as np

from towerpace.plan.arrays import PlanArrays
from towerpace.plan.model import Plan


class StepIndex:
    """Steps of a plan, found by trade, level, zone and kind, in the order in which they are written.

    Examples
    --------
    >>> from towerpace import build, load
    >>> plan = build(load("scenarios/one_hoist/scenario.toml")).plan
    >>> [plan.names[step] for step in index_of(plan).of("panels", 1, "north", "lift")[:2]]
    ['panels L1 north: panel 1', 'panels L1 north: panel 2']
    """

    def __init__(self, plan: PlanArrays) -> None:
        self._plan = plan
        steps = np.argsort(plan.tag_of, kind="stable")
        ends = np.cumsum(np.bincount(plan.tag_of, minlength=len(plan.tag_table)))
        self._once: dict[tuple[str, str], list[int]] = {}
        self._by_tag: dict[tuple[str, int | None, str, str], list[int]] = {}
        for tags, some in zip(plan.tag_table, np.split(steps, ends[:-1]), strict=True):
            key = (tags.trade, tags.level, tags.zone, tags.kind)
            self._by_tag.setdefault(key, []).extend(some.tolist())
            if not tags.zone:
                self._once.setdefault((tags.trade, tags.kind), []).extend(some.tolist())

    def of(
        self,
        trade: str,
        level: int | None = None,
        zone: str = "",
        kind: str = "work",
        *,
        remedies: bool = False,
    ) -> list[int]:
        """Numbers of the steps of one kind; remedies, on which no plan counts, only if asked for."""
        steps = self._by_tag.get((trade, level, zone, kind), [])
        return steps if remedies else self.planned(steps)

    def once(self, trade: str, kind: str, *, remedies: bool = False) -> list[int]:
        """Steps of what belongs to no front, on whatever level it may stand."""
        steps = self._once.get((trade, kind), [])
        return steps if remedies else self.planned(steps)

    def planned(self, steps: Iterable[int]) -> list[int]:
        """Those of some steps that are done if everything goes as planned."""
        return [step for step in steps if self._plan.planned[step]]

    def of_panel(self, trade: str, level: int, zone: str, kind: str, panel: int) -> list[int]:
        """Steps of one kind that are about one panel, remedies too."""
        some = self._by_tag.get((trade, level, zone, kind), [])
        return [step for step in some if self._plan.panel[step] == panel]


_INDEXES: WeakKeyDictionary[Plan, StepIndex] = WeakKeyDictionary()


def index_of(plan: Plan) -> StepIndex:
    """The index of a plan, made once."""
    index = _INDEXES.get(plan)
    if index is None:
        index = _INDEXES[plan] = StepIndex(plan)
    return index
