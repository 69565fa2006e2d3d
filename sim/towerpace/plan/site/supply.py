"""Crates of a panel front: made, by truck, by hoist, to a floor slot of their level.

The panels of a front are set family by family; a crate holds panels of one family, a truck crates of one
front. Floor slots are taken for all crates of a front at once, before the first goes up, and come free
crate by crate: so a front never holds half of its room while another holds the other half.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from towerpace.plan.columns import Handed
from towerpace.plan.site.absences import add_absences
from towerpace.plan.site.deliveries import Deliveries, due_minutes
from towerpace.plan.site.drafting import Draft
from towerpace.plan.site.fronts import HOISTING, NO_ROW, Front, StepKey, activity_done, handover_step
from towerpace.plan.site.hoisting import Hoisting, add_extensions
from towerpace.plan.site.logistics import FACTORY, YARD, Crate, Supplied, slot_pool
from towerpace.plan.site.methods import Grounds
from towerpace.plan.site.numbers import Numbers
from towerpace.plan.site.sequence import Precedence
from towerpace.scenario.schema import Factory, PanelTrade, Settings
from towerpace.units import WEEK_MIN, Ints


@dataclass
class Supply:
    """Writes deliveries and hoist trips of one panel trade."""

    draft: Draft
    name: str
    trade: PanelTrade
    order: Precedence

    def __post_init__(self) -> None:
        self.deliveries = Deliveries(self.draft, self.name, self.order)
        self.hoisting = Hoisting(self.draft, self.name, self.order)
        self.production = Production(self.draft, self.name, self.order)
        self._grounds = Grounds(self.draft)

    def add(
        self, front: Front, crates: list[Crate], *, begins: Sequence[int | StepKey], rank: int
    ) -> Supplied:
        """Everything up to the crates standing on the level or below it; nothing for a front without panels.

        begins : what the front itself waits for.
        """
        if not crates:
            return Supplied([], [], None)
        slots = self._claim_slots(front, [crate for crate in crates if not crate.straight], rank=rank)
        owned = [*begins, *([] if slots is None else [slots])]
        ground = self._grounds.claim(self.name, front, crates, after=owned, rank=rank)
        trips = self._bring(front, crates, slots=slots, ground=list(ground.values()), rank=rank)
        hoist = self.draft.settings.hoist
        if hoist is None or not hoist.empties:
            return Supplied(crates, trips, slots, ground=ground)

        slot = [] if slots is None else [Handed(self.draft.units({slot_pool(front.level): 1}), slots)]

        def go_down(crate: Crate, empty: int) -> None:
            self.hoisting.down(front, crate, after=[empty], gives=slot, rank=rank)

        return Supplied(crates, trips, slots, go_down, ground)

    def crates_of(self, front: Front) -> list[Crate]:
        """Crates of a front in the order in which they are opened."""
        crates: list[Crate] = []
        for family, count in self.order.panels_on(self.trade, front):
            size = self.draft.settings.family[family].crate_panels
            method = self.order.method_on(self.trade, family, front) if count else None
            straight = method is not None and self.draft.settings.method[method].straight
            for first in range(0, count, size):
                number = len(crates) + 1
                crates.append(Crate(number, family, min(size, count - first), method, straight=straight))
        return crates

    def _claim_slots(self, front: Front, crates: list[Crate], *, rank: int) -> int | None:
        """Room for the whole front: asked for at handover, with a yard when its trucks are due or called."""
        if self.draft.settings.storage is None or not crates:
            return None
        slots = self.draft.units({slot_pool(front.level): len(crates)})
        with_yard = self.draft.settings.yard is not None
        return self.draft.add(
            (self.name, " ", front.where, ": floor slots"),
            after=self.deliveries.calls(front) if with_yard else [handover_step(front.level)],
            needs=slots,
            keeps=slots.pools,
            rank=rank,
            tags=self.draft.tags(HOISTING, front, kind="floor slots"),
            date=due_minutes if with_yard else None,
            place=front.number,
        )

    def _bring(
        self, front: Front, crates: list[Crate], *, slots: int | None, ground: list[int], rank: int
    ) -> list[int]:
        """Factory, trucks, unloading and hoist trips; of each crate the step after which it is opened."""
        with_yard = self.draft.settings.yard is not None
        size, trips, panels = self.deliveries.terms.crates_per_truck, list[int](), 0
        let_in = [*([slots] if with_yard and slots is not None else []), *ground]
        for number, first in enumerate(range(0, len(crates), size), start=1):
            load = crates[first : first + size]
            up_to = panels + sum(crate.panels for crate in load)
            loads = self.production.add(front, number, panels=(panels, up_to), rank=rank)
            truck = self.deliveries.truck(front, load, number, after=let_in, loads=loads, rank=rank)
            panels = up_to
            # The yard slot comes free when the crate stands upstairs: the trip is one step.
            gives = [Handed(self.draft.units({YARD: 1}), truck.unloaded)] if with_yard else []
            after = [truck.ready, handover_step(front.level) if with_yard or slots is None else slots]
            for crate in load:
                if crate.straight:
                    self.hoisting.pass_by()
                    trips.append(truck.ready)
                else:
                    trips.append(self.hoisting.up(front, crate, after=after, gives=gives, rank=rank))
        return trips


def factory_of(settings: Settings) -> Factory:
    """The factory of the scenario."""
    assert settings.factory is not None, "asked for only with a factory"
    return settings.factory


@dataclass
class Production:
    """Writes what a factory makes, in planned order at a steady rate, for the trucks of one panel trade.

    loads : panels [from, to) of each load, counted over all fronts in planned order.
    """

    draft: Draft
    name: str
    order: Precedence
    loads: list[tuple[int, int]] = field(default_factory=list)

    def __post_init__(self) -> None:
        self._before = panels_before(self.order)

    def add(
        self, front: Front, number: int, *, panels: tuple[int, int], rank: int
    ) -> Sequence[int | StepKey]:
        """What a truck's load waits for: the step that makes it, or what releases one that lies in stock.

        Nothing where the stock is free to go or nothing is said of a factory. number : of the truck.
        panels : [from, to) on the front, in the order in which they are set.
        """
        factory = self.draft.settings.factory
        first, last = (self._before[self.name, front.number] + p for p in panels)
        if factory is None:
            return []
        released = [] if factory.after is None else [activity_done(factory.after)]
        if self.draft.ask(lambda n: made_min(last, factory=factory_of(n.settings)) == 0):
            return released if factory.stock_waits else []
        self.loads.append((first, last))
        made = self.draft.add(
            (self.name, " ", front.where, ": load of truck ", number, " made"),
            after=released,
            needs=self.draft.units({FACTORY: 1}),
            rank=rank + number,
            tags=self.draft.tags(NO_ROW, front, kind="factory"),
            work=self._work,
            date=_opening,
            place=len(self.loads) - 1,
        )
        return [made]

    def _work(self, numbers: Numbers) -> Ints:
        """Minutes of making each load, (n_loads,). [min]"""
        factory = factory_of(numbers.settings)
        ends = [[made_min(panels, factory=factory) for panels in load] for load in self.loads]
        minutes = np.array(ends, dtype=np.int64)
        return minutes[:, 1] - minutes[:, 0]


def _opening(numbers: Numbers) -> int:
    return numbers.minute_of(factory_of(numbers.settings).start)


def made_min(panels: int, *, factory: Factory) -> int:
    """Minutes of making until so many panels exist, from the first minute of the factory. [min]

    Whole minutes of the running total: batches add up to the weekly rate without drift.
    """
    return round(max(panels - factory.stock_panels, 0) / float(factory.panels_per_week) * WEEK_MIN)


def panels_before(order: Precedence) -> dict[tuple[str, int], int]:
    """How many panels come before those of a trade on a front, in planned order."""
    before, total = {}, 0
    for front in order.fronts:
        for name, trade in order.settings.trade.items():
            if isinstance(trade, PanelTrade):
                before[name, front.number] = total
                total += sum(count for _, count in order.panels_on(trade, front))
    return before


def add_site_supply(draft: Draft, order: Precedence) -> None:
    """What belongs to no front: units that come, go and break down, and masts that are extended."""
    add_absences(draft, order)
    add_extensions(draft, order)
