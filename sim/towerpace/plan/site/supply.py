"""Crates of a panel front: made, by truck, by hoist, to a floor slot of their level.

The panels of a front are set family by family; a crate holds panels of one family, a truck crates of one
front. Floor slots are taken for all crates of a front at once, before the first goes up, and come free
crate by crate: so a front never holds half of its room while another holds the other half.
"""

from __future__ import annotations

from dataclasses import dataclass

from towerpace.plan.parts import Give, Step, Tags
from towerpace.plan.site.absences import add_absences
from towerpace.plan.site.crates import DELIVERY, HOISTING, Crate, Supplied
from towerpace.plan.site.deliveries import Deliveries
from towerpace.plan.site.drafting import Draft
from towerpace.plan.site.factory import Production
from towerpace.plan.site.fronts import Front, handover_name
from towerpace.plan.site.hoisting import Hoisting, add_extensions
from towerpace.plan.site.logistics import YARD, slot_pool
from towerpace.plan.site.sequence import Sequence
from towerpace.scenario.schema import PanelTrade

__all__ = ["DELIVERY", "HOISTING", "Crate", "Supplied", "Supply", "add_site_supply"]


@dataclass
class Supply:
    """Writes deliveries and hoist trips of one panel trade."""

    draft: Draft
    name: str
    trade: PanelTrade
    sequence: Sequence

    def __post_init__(self) -> None:
        self.deliveries = Deliveries(self.draft, self.name, self.sequence)
        self.deliveries.laws()
        self.hoisting = Hoisting(self.draft, self.name, self.sequence)
        self.production = Production(self.draft, self.name, self.sequence)

    def add(self, front: Front, *, rank: int) -> Supplied:
        """Everything up to the crates standing on the level; nothing for a front without panels."""
        crates = self.crates_of(front)
        if not crates:
            return Supplied([], [], None)
        slots = self._claim_slots(front, crates, rank=rank)
        trips = self._bring(front, crates, slots=slots, rank=rank)
        hoist = self.sequence.settings.hoist
        if hoist is None or not hoist.empties:
            return Supplied(crates, trips, slots)

        def go_down(crate: Crate, empty: str) -> None:
            gives = [] if slots is None else [Give(slot_pool(front.level), 1, slots)]
            self.hoisting.down(front, crate, after=[empty], gives=gives, rank=rank)

        return Supplied(crates, trips, slots, go_down)

    def crates_of(self, front: Front) -> list[Crate]:
        """Crates of a front in the order in which they are opened."""
        found: list[Crate] = []
        for family, count in self.sequence.panels_on(self.trade, front):
            size = self.sequence.settings.family[family].crate_panels
            for first in range(0, count, size):
                found.append(Crate(len(found) + 1, family, min(size, count - first)))
        return found

    def _claim_slots(self, front: Front, crates: list[Crate], *, rank: int) -> str | None:
        """Room for the whole front: asked for at handover, with a yard when its trucks are due or called."""
        if self.sequence.settings.storage is None:
            return None
        pool, with_yard = slot_pool(front.level), self.sequence.settings.yard is not None
        return self.draft.add(
            Step(
                f"{self.name} {front.where}: floor slots",
                date=self.deliveries.due(front) if with_yard else 0,
                after=self.deliveries.calls(front) if with_yard else [handover_name(front.level)],
                needs={pool: len(crates)},
                keeps=[pool],
                rank=rank,
                tags=Tags(trade=HOISTING, level=front.level, zone=front.zone, kind="floor slots"),
            )
        )

    def _bring(self, front: Front, crates: list[Crate], *, slots: str | None, rank: int) -> list[str]:
        """Factory, trucks, unloading and hoist trips; the names of the trips, one a crate."""
        with_yard = self.sequence.settings.yard is not None
        size, trips, panels = self.deliveries.terms.crates_per_truck, [], 0
        let_in = [slots] if with_yard and slots is not None else []
        for number, first in enumerate(range(0, len(crates), size), start=1):
            load = crates[first : first + size]
            up_to = panels + sum(crate.panels for crate in load)
            made = self.production.made(front, number, panels=(panels, up_to), rank=rank)
            truck = self.deliveries.truck(front, load, number, after=let_in, made=made, rank=rank)
            panels = up_to
            # The yard slot comes free when the crate stands upstairs: the trip is one step.
            gives = [Give(YARD, 1, truck.unloaded)] if with_yard else []
            after = [truck.ready, handover_name(front.level) if with_yard or slots is None else slots]
            trips += [self.hoisting.up(front, crate, after=after, gives=gives, rank=rank) for crate in load]
        return trips


def add_site_supply(draft: Draft, sequence: Sequence) -> None:
    """What belongs to no front: units that come, go and break down, and masts that are extended."""
    add_absences(draft, sequence.settings)
    add_extensions(draft, sequence)
