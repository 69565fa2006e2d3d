"""Crates of a panel front: by truck, by hoist, to a floor slot of their level.

The panels of a front are set family by family; a crate holds panels of one family, a truck crates of one
front. Floor slots are taken for all crates of a front at once, before the first goes up, and come free
crate by crate: so a front never holds half of its room while another holds the other half.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from towerpace.plan.laws import Term, TruckLaw
from towerpace.plan.parts import Step, Tags
from towerpace.plan.site.drafting import Chance, Draft
from towerpace.plan.site.fronts import Front, handover_name
from towerpace.plan.site.logistics import slot_pool
from towerpace.plan.site.sequence import Sequence
from towerpace.plan.site.shifts import DAY_MIN
from towerpace.plan.site.travel import travel_s
from towerpace.scenario.schema import Delivery, Hoist, PanelTrade

HOISTING, DELIVERY = "hoisting", "delivery"


@dataclass(frozen=True, slots=True)
class Crate:
    """Panels of one family for one front: number on the front, family, how many."""

    number: int
    family: str
    panels: int


@dataclass(frozen=True, slots=True)
class Supplied:
    """Crates of a front in setting order, the trips that bring them, and who took their floor slots."""

    crates: list[Crate]
    trips: list[str]
    slots: str | None


@dataclass
class Supply:
    """Writes deliveries and hoist trips of one panel trade; counts crates and trucks as it goes."""

    draft: Draft
    name: str
    trade: PanelTrade
    sequence: Sequence
    crates: int = 0
    trucks: int = 0
    truck_steps: list[tuple[str, int, int]] = field(default_factory=list)

    def add(self, front: Front, *, rank: int) -> Supplied:
        """Everything up to the crates standing on the level; nothing for a front without panels."""
        crates = self.crates_of(front)
        if not crates:
            return Supplied([], [], None)
        slots = self._claim_slots(front, crates, rank=rank)
        return Supplied(crates, self._bring(front, crates, slots=slots, rank=rank), slots)

    def crates_of(self, front: Front) -> list[Crate]:
        """Crates of a front in the order in which they are opened."""
        found: list[Crate] = []
        for family, count in self.sequence.panels_on(self.trade, front):
            size = self.sequence.settings.family[family].crate_panels
            for first in range(0, count, size):
                found.append(Crate(len(found) + 1, family, min(size, count - first)))
        return found

    def trucks_law(self, index: dict[str, int]) -> TruckLaw:
        """How late the trucks are."""
        names, items, planned = zip(*self.truck_steps, strict=True) if self.truck_steps else ((), (), ())
        return TruckLaw(
            steps=np.array([index[n] for n in names], dtype=np.int64),
            items=np.array(items, dtype=np.int64),
            planned=np.array(planned, dtype=np.int64),
            chance=float(self._delivery.late_chance),
            late_h=self._delivery.late_h,
        )

    @property
    def _delivery(self) -> Delivery:
        assert self.sequence.settings.delivery is not None, "the scenario is checked when it is loaded"
        return self.sequence.settings.delivery

    @property
    def _hoist(self) -> Hoist:
        assert self.sequence.settings.hoist is not None, "the scenario is checked when it is loaded"
        return self.sequence.settings.hoist

    @staticmethod
    def _tags(front: Front, kind: str, *, trade: str) -> Tags:
        return Tags(trade=trade, level=front.level, zone=front.zone, kind=kind)

    def _claim_slots(self, front: Front, crates: list[Crate], *, rank: int) -> str | None:
        if self.sequence.settings.storage is None:
            return None
        pool = slot_pool(front.level)
        return self.draft.add(
            Step(
                f"{self.name} {front.where}: floor slots",
                after=[handover_name(front.level)],
                needs={pool: len(crates)},
                keeps=[pool],
                rank=rank,
                tags=self._tags(front, "floor slots", trade=HOISTING),
            )
        )

    def _bring(self, front: Front, crates: list[Crate], *, slots: str | None, rank: int) -> list[str]:
        """Trucks, unloading and hoist trips; the names of the trips, one a crate."""
        size = self._delivery.crates_per_truck
        trips = []
        for first in range(0, len(crates), size):
            unloaded = self._truck(front, first // size + 1, rank=rank)
            for crate in crates[first : first + size]:
                after = [unloaded, slots or handover_name(front.level)]
                trips.append(self._trip(front, crate, after, rank=rank))
        return trips

    def _truck(self, front: Front, number: int, *, rank: int) -> str:
        name = f"{self.name} {front.where}: truck {number}"
        delivery, item = self._delivery, self.trucks
        self.trucks += 1
        planned = self._planned(front)
        tags = self._tags(front, "truck", trade=DELIVERY)
        arrives = self.draft.add(Step(f"{name} arrives", date=planned, tags=tags))
        self.truck_steps.append((arrives, item, planned))
        chance = Chance(item, terms=(Term(delivery.unload_min, "unloading"),))
        return self.draft.add(
            Step(
                f"{name} unloaded",
                work=self.draft.expected(chance),
                after=[arrives],
                needs={delivery.resource: 1},
                window=self.draft.closures.window(delivery.calendar, limits=(), height_m=0.0),
                mode="start",
                rank=rank,
                tags=self._tags(front, "unloading", trade=DELIVERY),
            ),
            chance=chance,
        )

    def _planned(self, front: Front) -> int:
        """First minute of the day on which the front's trucks are due. [min]"""
        day = self.sequence.levels.delivery[front.spot[0]][front.spot[1]]
        assert day is not None, "the scenario is checked when it is loaded"
        return (day - self.sequence.settings.tower.start).days * DAY_MIN

    def _trip(self, front: Front, crate: Crate, after: list[str], *, rank: int) -> str:
        """Up and down again with one crate, as a share of the hoist's time."""
        hoist, item = self._hoist, self.crates
        self.crates += 1
        height_m = float(self.sequence.levels.height_m[front.floor])
        jerk = None if hoist.jerk_m_s3 is None else float(hoist.jerk_m_s3)
        one_way_s = travel_s(
            height_m,
            speed_m_s=float(hoist.speed_m_s),
            acceleration_m_s2=float(hoist.acceleration_m_s2),
            jerk_m_s3=jerk,
        )
        terms = (Term(hoist.load_min, "hoist loading"), Term(hoist.unload_min, "hoist unloading"))
        chance = Chance(item, factor=1 / float(hoist.share), fixed=2 * one_way_s / 60, terms=terms)
        return self.draft.add(
            Step(
                f"{self.name} {front.where}: crate {crate.number} up",
                work=self.draft.expected(chance),
                after=after,
                needs={hoist.resource: 1},
                window=self.draft.closures.window(hoist.calendar, limits=hoist.limits, height_m=height_m),
                mode="start",
                rank=rank + crate.number,
                tags=self._tags(front, "hoist trip", trade=HOISTING),
            ),
            chance=chance,
        )
