"""The factory: panels in planned order at a steady rate, so that a truck has its load."""

from __future__ import annotations

from dataclasses import dataclass

from towerpace.plan.parts import Step, Tags
from towerpace.plan.site.crates import NO_ROW
from towerpace.plan.site.drafting import Draft
from towerpace.plan.site.fronts import Front, activity_name
from towerpace.plan.site.logistics import FACTORY
from towerpace.plan.site.sequence import Sequence
from towerpace.plan.site.shifts import DAY_MIN
from towerpace.scenario.schema import Factory, PanelTrade

WEEK_MIN = 7 * DAY_MIN


@dataclass
class Production:
    """Writes what must be made for the trucks of one panel trade."""

    draft: Draft
    name: str
    sequence: Sequence

    def __post_init__(self) -> None:
        self._first = first_panels(self.sequence)

    def made(self, front: Front, number: int, *, panels: tuple[int, int], rank: int) -> list[str]:
        """The step that makes a truck's load; none if it lies in stock or nothing is said of a factory.

        number : of the truck. panels : [from, to) on the front, in the order in which they are set.
        """
        factory = self.sequence.settings.factory
        if factory is None:
            return []
        begin, end = (made_min(self._first[self.name, front.number] + p, factory=factory) for p in panels)
        if end == 0:
            return []
        start = 0 if factory.start is None else (factory.start - self.sequence.settings.tower.start).days
        step = Step(
            f"{self.name} {front.where}: load of truck {number} made",
            work=end - begin,
            date=start * DAY_MIN,
            after=[] if factory.after is None else [activity_name(factory.after)],
            needs={FACTORY: 1},
            rank=rank + number,
            tags=Tags(trade=NO_ROW, level=front.level, zone=front.zone, kind="factory"),
        )
        return [self.draft.add(step)]


def made_min(panels: int, *, factory: Factory) -> int:
    """Minutes of making until so many panels exist, from the first minute of the factory. [min]

    Whole minutes of the running total: batches add up to the weekly rate without drift.
    """
    return round(max(panels - factory.stock_panels, 0) / float(factory.panels_per_week) * WEEK_MIN)


def first_panels(sequence: Sequence) -> dict[tuple[str, int], int]:
    """How many panels come before those of a trade on a front, in planned order."""
    found, total = {}, 0
    for front in sequence.fronts:
        for name, trade in sequence.settings.trade.items():
            if isinstance(trade, PanelTrade):
                found[name, front.number] = total
                total += sum(count for _, count in sequence.panels_on(trade, front))
    return found
