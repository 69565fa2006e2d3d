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

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property, partial

import numpy as np

from towerpace.plan.chance import DELIVERIES, Law
from towerpace.plan.columns import Handed, Units, Words, said
from towerpace.plan.lists import START, WORK
from towerpace.plan.parts import Pool
from towerpace.plan.site.drafting import Draft, DrawnMinutes, Uncertain
from towerpace.plan.site.fronts import DELIVERY, LAST, NO_ROW, Front, StepKey, handover_step
from towerpace.plan.site.logistics import YARD, Crate
from towerpace.plan.site.numbers import Numbers
from towerpace.plan.site.sequence import Precedence
from towerpace.plan.site.truck_laws import SortingLaw, TruckLaw
from towerpace.scenario.schema import Delivery, Settings
from towerpace.scenario.spreads import Spread
from towerpace.units import DAY_MIN, HOUR_MIN, Ints

TURNED_AWAY = "turned away"


@dataclass(frozen=True, slots=True)
class Truck:
    """A load on the ground: the step that took its yard slots, and the step after which crates may go up."""

    unloaded: int
    ready: int


def delivery_of(settings: Settings) -> Delivery:
    """The deliveries of the scenario."""
    assert settings.delivery is not None, "the scenario is checked when it is loaded"
    return settings.delivery


def due_minutes(numbers: Numbers) -> Ints:
    """First minute of the day on which the trucks of each front are due, (n_fronts,); 0 if called. [min]"""
    if delivery_of(numbers.settings).order == "call-off":
        return np.zeros(len(numbers.fronts), dtype=np.int64)
    days = [day for level in numbers.levels.delivery for day in level]
    return np.array([numbers.minute_of(day) for day in days], dtype=np.int64)


def _lead_min(numbers: Numbers) -> int:
    days = delivery_of(numbers.settings).lead_days
    assert days is not None, "asked for only of trucks on call"
    return round(days.mean() * DAY_MIN)


def _sort_min(numbers: Numbers) -> Spread:
    minutes = delivery_of(numbers.settings).sort_min
    assert minutes is not None, "the scenario is checked when it is loaded"
    return minutes


@dataclass
class Deliveries:
    """Writes the trucks of one panel trade; counts them as it goes."""

    draft: Draft
    name: str
    order: Precedence
    coming: list[tuple[int, int, int]] = field(default_factory=list)
    sorting: list[tuple[int, int]] = field(default_factory=list)

    def __post_init__(self) -> None:
        terms, ask = self.terms, self.draft.ask
        self._on_call = ask(lambda n: delivery_of(n.settings).lead_days is not None)
        self._sorts = ask(lambda n: delivery_of(n.settings).wrong_order_chance is not None)
        self._patience = _Patience(self.draft) if _leaves(self.draft) else None
        # What unloading and sorting take.
        self._hands = self.draft.units({terms.resource: 1, **terms.unload_needs})
        unload = Uncertain(lambda n: delivery_of(n.settings).unload_min, "unloading", DELIVERIES)
        self._unload = DrawnMinutes((unload,))
        self._sort = DrawnMinutes((Uncertain(_sort_min, "sorting a load", DELIVERIES),))

    @property
    def terms(self) -> Delivery:
        """The table of the scenario."""
        return delivery_of(self.draft.settings)

    @cached_property
    def _window(self) -> int:
        return self.draft.closures.window(self.terms.calendar, limits=(), height_m=0.0)

    def finish(self) -> None:
        """Register how chance decides about the trucks, when all are written."""
        owner = self.draft.owner
        steps, items, fronts = np.array(self.coming, dtype=np.int64).reshape(-1, 3).T.copy()

        def truck_law(numbers: Numbers) -> Law:
            return TruckLaw(steps, items, due_minutes(numbers)[fronts], delivery_of(numbers.settings), owner)

        self.draft.laws.append(truck_law)
        if self._sorts:
            sorted_steps, sorted_items = np.array(self.sorting, dtype=np.int64).reshape(-1, 2).T.copy()
            self.draft.laws.append(partial(_sorting_law, sorted_steps, sorted_items, owner))

    def calls(self, front: Front) -> list[int | StepKey]:
        """What calls the trucks of a front: nothing below the tower, or if they come as planned."""
        ahead = self.terms.levels_ahead
        if self.terms.order == "planned" or ahead is None or front.floor < ahead:
            return []
        return [handover_step(self.order.levels.levels[front.floor - ahead])]

    def truck(
        self,
        front: Front,
        load: list[Crate],
        number: int,
        *,
        after: list[int],
        loads: Sequence[int | StepKey],
        rank: int,
    ) -> Truck:
        """One truck from the factory to the ground; it is let in after the steps of `after`."""
        item, base = len(self.coming), (self.name, " ", front.where, ": truck ", number)
        arrives = self._arrives(front, base, item, loads=loads)
        in_yard = sum(not crate.straight for crate in load)
        unloaded = self._unloaded(front, base, item, in_yard, after=[arrives, *after], rank=rank)
        return Truck(unloaded, self._sorted(front, base, item, unloaded) if self._sorts else unloaded)

    def _unloaded(
        self, front: Front, base: Words, item: int, crates: int, *, after: list[int], rank: int
    ) -> int:
        """Let in and unloaded in one go; the truck's place at the gate, first asked for, is gone for good."""
        draft, place = self.draft, Units()
        if self._patience is not None:
            place = self._patience.add(front, base, after[0], self._window)
        room = draft.units({YARD: crates}) if draft.settings.yard is not None and crates else Units()
        needs = Units(*(a + b + c for a, b, c in zip(place, self._hands, room, strict=True)))
        return draft.add(
            (base, " unloaded"),
            after=after,
            needs=needs,
            keeps=[*place.pools, *room.pools, *(self._hands.pools if self._sorts else ())],
            window=self._window,
            mode=START,
            rank=rank,
            tags=draft.tags(DELIVERY, front, kind="unloading"),
            minutes=self._unload,
            item=item,
        )

    def _arrives(self, front: Front, base: Words, item: int, *, loads: Sequence[int | StepKey]) -> int:
        """The step at whose end the truck stands at the gate; it cannot come before its panels are made."""
        draft, name = self.draft, (base, " arrives")
        tags = draft.tags(DELIVERY, front, kind="truck")
        if not self._on_call:
            arrives = draft.add(name, after=loads, tags=tags, date=due_minutes, place=front.number)
            self.coming.append((arrives, item, front.number))
            return arrives
        way = draft.add(
            (base, " on its way"),
            after=self.calls(front),
            tags=draft.tags(NO_ROW, front, kind="truck"),
            work=_lead_min,
        )
        self.coming.append((way, item, front.number))
        return draft.add(name, after=[way, *loads], tags=tags)

    def _sorted(self, front: Front, base: Words, item: int, unloaded: int) -> int:
        """Sorting a load that came in the wrong order, on the spot where it was unloaded.

        The bay is kept from unloading on: asked for again in the line of the gate, it would stand behind a
        truck that waits for the very yard slots that sorting would free.
        """
        tags = self.draft.tags(DELIVERY, front, kind="sorting")
        sorting = self.draft.add(
            (base, " sorted"),
            after=[unloaded],
            window=self._window,
            mode=WORK,
            flag=self.draft.flag((base, " in order")),
            planned=False,
            tags=tags,
            minutes=self._sort,
            item=item,
        )
        self.sorting.append((sorting, item))
        gives = [Handed(self._hands, unloaded)]
        return self.draft.add((base, " clear"), after=[sorting], gives=gives, tags=tags)


def _sorting_law(steps: Ints, items: Ints, owner: str, numbers: Numbers) -> Law:
    chance = delivery_of(numbers.settings).wrong_order_chance
    return SortingLaw(steps, items, 0.0 if chance is None else float(chance), owner)


def _leaves(draft: Draft) -> bool:
    """Whether trucks that wait too long are turned away."""

    def leaves(numbers: Numbers) -> bool:
        delivery = delivery_of(numbers.settings)
        return delivery.turn_away_h is not None and delivery.back_days is not None

    return draft.ask(leaves)


class _Patience:
    """Writes every time that a truck may leave the gate, to be back later.

    No running step is broken off and nobody looks ahead: the place of a truck at the gate is a pool of its
    own. Unloading needs the place, and so does leaving; whoever comes first keeps the other from it. If the
    bay comes free in the very minute in which patience ends, the truck is let in: nobody drives away from an
    open gate, so leaving is served last. The steps of leaving are optional; once unloading has begun they
    never start.
    """

    def __init__(self, draft: Draft) -> None:
        self._draft = draft
        terms = delivery_of(draft.settings)
        self._most = terms.turned_away_at_most or 0
        self._order = draft.settings.resource[terms.resource].order

    def add(self, front: Front, truck: Words, arrives: int, window: int) -> Units:
        """The place that unloading it must keep. window : in whose hours it waits."""
        draft, last = self._draft, arrives
        name = f"place at the gate of {said(truck)}"
        draft.pool(Pool(name, 1, order=self._order, kind="place at the gate"))
        place, tags = draft.units({name: 1}), draft.tags(NO_ROW, front, kind=TURNED_AWAY)
        for k in range(1, self._most + 1):
            waiting = draft.add(
                (truck, " waits ", k),
                after=[last],
                window=window,
                mode=WORK,
                optional=True,
                tags=tags,
                work=_waits_min,
            )
            last = draft.add(
                (truck, f" {TURNED_AWAY} ", k),
                after=[waiting],
                needs=place,
                rank=LAST,
                optional=True,
                tags=tags,
                work=_back_min,
            )
        return place


def _waits_min(numbers: Numbers) -> int:
    return round(float(delivery_of(numbers.settings).turn_away_h or 0.0) * HOUR_MIN)


def _back_min(numbers: Numbers) -> int:
    return round(float(delivery_of(numbers.settings).back_days or 0.0) * DAY_MIN)
