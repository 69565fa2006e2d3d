"""What a baseline gives dates: every front of every trade, what happens once, and the milestones."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from towerpace.answers.measures import once_steps
from towerpace.plan.model import Plan
from towerpace.plan.site.tower import CLOSING_IN, HANDOVER, Tower
from towerpace.units import Ints

FRONTS, ONCE, MILESTONES = "front", "activity", "milestone"
FINISH = "finish"


@dataclass(frozen=True, eq=False)
class Item:
    """A row of a baseline.

    kind : front, activity or milestone. what : trade, activity or name of the milestone. level, zone : where,
    None and "" for what belongs to none. begins, ends : steps with the first of whose starts it begins, and
    with the last of whose ends it is done; of the finish, none.
    """

    kind: str
    what: str
    level: int | None
    zone: str
    begins: Ints
    ends: Ints

    @property
    def name(self) -> str:
        """As people say it: panels L12 north."""
        where = "" if self.level is None else f"L{self.level}"
        return " ".join(filter(None, (self.what.replace("_", " "), where, self.zone)))


def items_of(tower: Tower) -> list[Item]:
    """All items of a tower: fronts in planned order, what happens once, milestones, and last the finish."""
    return [*_fronts(tower), *_once(tower), *_milestones(tower), Item(MILESTONES, FINISH, None, "", _NO, _NO)]


_NO = np.zeros(0, dtype=np.int64)


def _fronts(tower: Tower) -> Iterator[Item]:
    for k, trade in enumerate(tower.trades):
        for front in tower.fronts:
            first, last = (steps[k, front.number : front.number + 1] for steps in (tower.first, tower.last))
            yield Item(FRONTS, trade, front.level, front.zone, first, last)


def _once(tower: Tower) -> Iterator[Item]:
    for name, steps in once_steps(tower).items():
        yield Item(ONCE, name, None, "", steps, steps)


def _milestones(tower: Tower) -> Iterator[Item]:
    for name, steps in ((HANDOVER, tower.handover), (CLOSING_IN, tower.closing_in)):
        for level, step in zip(tower.levels, steps[:, None], strict=False):
            yield Item(MILESTONES, "handover" if name == HANDOVER else name, level, "", step, step)


def item_of_steps(plan: Plan, items: list[Item]) -> Ints:
    """Number of the item that each step belongs to by its tags, (n,); -1 for none."""
    place = {(item.what, item.level, item.zone): k for k, item in enumerate(items) if item.kind != MILESTONES}
    number = plan.by_tags(lambda t: place.get((t.trade, t.level, t.zone), -1))
    for k, item in enumerate(items):
        if item.kind != FRONTS:
            number[item.ends] = k
    return number
