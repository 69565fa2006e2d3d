"""Trucks: called or planned, early, late or turned away, let in at the gate, unloaded, and put in order.

What keeps a scarce yard from locking for ever. With a yard, a truck joins the line at the gate only once
the floor slots of its front are its own (without floor slots, at once). So every crate in the yard has its
place upstairs and waits for nothing but the handover of its level, which comes by date, and for a hoist,
which nobody keeps: the yard always drains. The head of the line waits for yard slots and the bay alone, and
both come free; so every truck gets in, every front that owns floor slots gets all its crates, and a gang with
its crane, which moves in only where they are owned, always comes to its last panel and gives the slots back.
Pools are taken in one order everywhere: floor slots, bay and yard, hoist; crane and gang after floor slots.
Were trucks let in before their floor slots are owned, crates of a full level could fill the yard while the
crane that would empty that level stands on another, short of a crate that waits at the gate.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from towerpace.plan.laws import Term, stream_name
from towerpace.plan.parts import Give, Step, Tags
from towerpace.plan.site.crates import DELIVERY, NO_ROW, Crate
from towerpace.plan.site.drafting import Chance, Draft
from towerpace.plan.site.fronts import Front, handover_name
from towerpace.plan.site.logistics import YARD
from towerpace.plan.site.patience import add_patience
from towerpace.plan.site.sequence import Sequence
from towerpace.plan.site.shifts import DAY_MIN
from towerpace.plan.site.truck_laws import SkipLaw, TruckLaw
from towerpace.scenario.schema import Delivery


@dataclass(frozen=True, slots=True)
class Truck:
    """A load on the ground: the step that took its yard slots, and the step after which crates may go up."""

    unloaded: str
    ready: str


@dataclass
class Deliveries:
    """Writes the trucks of one panel trade; counts them as it goes."""

    draft: Draft
    name: str
    sequence: Sequence
    trucks: int = 0
    coming: list[tuple[str, int, int]] = field(default_factory=list)
    sorting: list[tuple[str, int]] = field(default_factory=list)

    @property
    def terms(self) -> Delivery:
        """The table of the scenario."""
        assert self.sequence.settings.delivery is not None, "the scenario is checked when it is loaded"
        return self.sequence.settings.delivery

    def laws(self) -> None:
        """Register how chance decides about the trucks written so far and later."""
        self.draft.laws.append(self._truck_law)
        if self.terms.wrong_order_chance is not None:
            self.draft.laws.append(self._order_law)

    def _truck_law(self, index: dict[str, int]) -> TruckLaw:
        steps = np.array([index[name] for name, _, _ in self.coming], dtype=np.int64)
        items = np.array([item for _, item, _ in self.coming], dtype=np.int64)
        due = np.array([minute for _, _, minute in self.coming], dtype=np.int64)
        return TruckLaw(steps, items, due, self.terms, self.draft.owner)

    def _order_law(self, index: dict[str, int]) -> SkipLaw:
        steps = np.array([index[name] for name, _ in self.sorting], dtype=np.int64)
        items = np.array([item for _, item in self.sorting], dtype=np.int64)
        chance = self.terms.wrong_order_chance
        purpose = stream_name("truck in wrong order", owner=self.draft.owner)
        return SkipLaw(steps, items, 0.0 if chance is None else float(chance), purpose)

    def due(self, front: Front) -> int:
        """First minute of the day on which the trucks of a front are due; 0 if they are called. [min]"""
        if self.terms.order == "call-off":
            return 0
        day = self.sequence.levels.delivery[front.spot[0]][front.spot[1]]
        assert day is not None, "the scenario is checked when it is loaded"
        return (day - self.sequence.settings.tower.start).days * DAY_MIN

    def calls(self, front: Front) -> list[str]:
        """What calls the trucks of a front: nothing below the tower, or if they come as planned."""
        ahead = self.terms.levels_ahead
        if self.terms.order == "planned" or ahead is None or front.floor < ahead:
            return []
        return [handover_name(self.sequence.levels.levels[front.floor - ahead])]

    def truck(
        self, front: Front, load: list[Crate], number: int, *, after: list[str], made: list[str], rank: int
    ) -> Truck:
        """One truck from the factory to the ground; it is let in after the steps of `after`."""
        item, base = self.trucks, f"{self.name} {front.where}: truck {number}"
        self.trucks += 1
        arrives = self._arrives(front, base, item, made=made)
        unloaded = self._unloaded(front, base, item, len(load), after=[arrives, *after], rank=rank)
        return Truck(unloaded, self._sorted(front, base, item, unloaded) if self._sorts else unloaded)

    @property
    def _sorts(self) -> bool:
        return self.terms.wrong_order_chance is not None

    @property
    def _hands(self) -> dict[str, int]:
        """What unloading and sorting take."""
        return {self.terms.resource: 1, **self.terms.unload_needs}

    def _unloaded(
        self, front: Front, base: str, item: int, crates: int, *, after: list[str], rank: int
    ) -> str:
        """Let in and unloaded in one go; the truck's place at the gate, first asked for, is gone for good."""
        settings = self.sequence.settings
        place = add_patience(
            self.draft, settings, front=front, truck=base, arrives=after[0], window=self._window()
        )
        room = {YARD: crates} if settings.yard is not None else {}
        chance = Chance(item, terms=(Term(self.terms.unload_min, "unloading"),))
        return self.draft.add(
            Step(
                f"{base} unloaded",
                work=self.draft.expected(chance),
                after=after,
                needs=dict.fromkeys(place, 1) | self._hands | room,
                keeps=[*place, *room, *(self._hands if self._sorts else ())],
                window=self._window(),
                mode="start",
                rank=rank,
                tags=_tags(front, "unloading"),
            ),
            chance=chance,
        )

    def _window(self) -> str:
        return self.draft.closures.window(self.terms.calendar, limits=(), height_m=0.0)

    def _arrives(self, front: Front, base: str, item: int, *, made: list[str]) -> str:
        """The step at whose end the truck stands at the gate; it cannot come before its panels are made."""
        due, tags = self.due(front), _tags(front, "truck")
        if self.terms.lead_days is None:
            arrives = self.draft.add(Step(f"{base} arrives", date=due, after=made, tags=tags))
            self.coming.append((arrives, item, due))
            return arrives
        way = Step(
            f"{base} on its way",
            work=round(self.terms.lead_days.mean() * DAY_MIN),
            after=self.calls(front),
            tags=_tags(front, "truck", trade=NO_ROW),
        )
        self.coming.append((self.draft.add(way), item, 0))
        return self.draft.add(Step(f"{base} arrives", after=[way.name, *made], tags=tags))

    def _sorted(self, front: Front, base: str, item: int, unloaded: str) -> str:
        """Sorting a load that came in the wrong order, on the spot where it was unloaded.

        The bay is kept from unloading on: asked for again in the line of the gate, it would stand behind a
        truck that waits for the very yard slots that sorting would free.
        """
        assert self.terms.sort_min is not None, "the scenario is checked when it is loaded"
        chance = Chance(item, terms=(Term(self.terms.sort_min, "sorting a load"),))
        tags = _tags(front, "sorting")
        sorting = Step(
            f"{base} sorted",
            work=self.draft.expected(chance),
            after=[unloaded],
            window=self._window(),
            mode="work",
            skip=f"{base} in order",
            planned=False,
            tags=tags,
        )
        self.sorting.append((self.draft.add(sorting, chance=chance), item))
        gives = [Give(pool, quantity, unloaded) for pool, quantity in self._hands.items()]
        return self.draft.add(Step(f"{base} clear", after=[sorting.name], gives=gives, tags=tags))


def _tags(front: Front, kind: str, *, trade: str = DELIVERY) -> Tags:
    return Tags(trade=trade, level=front.level, zone=front.zone, kind=kind)
