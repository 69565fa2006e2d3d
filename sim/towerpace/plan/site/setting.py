"""Setting the panels of a front: gang, floor crane and strip together, then panel by panel."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from towerpace.plan.laws import Term
from towerpace.plan.parts import Give, Step, Tags
from towerpace.plan.site.drafting import Chance, Draft
from towerpace.plan.site.fronts import Front
from towerpace.plan.site.logistics import slot_pool, strip_pool
from towerpace.plan.site.sequence import Sequence
from towerpace.plan.site.supply import Crate, Supplied
from towerpace.scenario.schema import Crane, Family, PanelTrade


@dataclass
class Setting:
    """Writes the crane moves and lifts of one panel trade; counts panels as it goes."""

    draft: Draft
    name: str
    trade: PanelTrade
    sequence: Sequence
    panels: int = 0

    def add(self, front: Front, supplied: Supplied, *, after: list[str], rank: int) -> None:
        """From moving in to the last panel, which gives everything back; moving in waits for `after`."""
        if not supplied.crates:
            self.draft.add(Step(f"{self.name} {front.where}", after=after, tags=self._tags(front)))
            return
        moved_in = self._move_in(front, [*after, supplied.trips[0]], rank=rank)
        self._set(front, supplied, moved_in=moved_in)

    @property
    def _crane(self) -> Crane:
        assert self.sequence.settings.crane is not None, "the scenario is checked when it is loaded"
        return self.sequence.settings.crane

    def _tags(self, front: Front, kind: str = "work") -> Tags:
        return Tags(trade=self.name, level=front.level, zone=front.zone, kind=kind)

    def _move_in(self, front: Front, after: list[str], *, rank: int) -> str:
        crane = self._crane
        needs = {strip_pool(front.zone): 1, **self.trade.needs, crane.resource: 1}
        chance = Chance(front.number, terms=(Term(crane.set_up_min, "crane set-up"),))
        return self.draft.add(
            Step(
                f"{self.name} {front.where}: move in",
                work=self.draft.expected(chance),
                after=after,
                needs=needs,
                keeps=list(needs),
                window=self._site_window(),
                mode="work",
                rank=rank,
                place=front.where,
                tags=self._tags(front, "crane move"),
            ),
            chance=chance,
        )

    def _site_window(self) -> str:
        return self.draft.closures.window(self.trade.calendar, limits=(), height_m=0.0)

    def _set(self, front: Front, supplied: Supplied, *, moved_in: str) -> None:
        """Panel by panel; the last gives everything back."""
        total = sum(crate.panels for crate in supplied.crates)
        previous, number = moved_in, 0
        for crate, trip in zip(supplied.crates, supplied.trips, strict=True):
            for k in range(crate.panels):
                if number and number % self._crane.panels_per_position == 0:
                    previous = self._reposition(front, number, previous)
                number += 1
                gives = list(self._crate_empty(front, supplied.slots)) if k == crate.panels - 1 else []
                gives += list(self._all_out(front, moved_in)) if number == total else []
                after = [previous, trip] if k == 0 else [previous]
                previous = self._panel(front, number, crate, after=after, gives=gives)

    def _crate_empty(self, front: Front, slots: str | None) -> Iterator[Give]:
        if slots is not None:
            yield Give(slot_pool(front.level), 1, slots)

    def _all_out(self, front: Front, moved_in: str) -> Iterator[Give]:
        for pool, quantity in {
            strip_pool(front.zone): 1,
            **self.trade.needs,
            self._crane.resource: 1,
        }.items():
            yield Give(pool, quantity, moved_in)

    def _reposition(self, front: Front, number: int, previous: str) -> str:
        chance = Chance(self.panels, terms=(Term(self._crane.reposition_min, "crane reposition"),))
        return self.draft.add(
            Step(
                f"{self.name} {front.where}: move after panel {number}",
                work=self.draft.expected(chance),
                after=[previous],
                window=self._site_window(),
                mode="work",
                tags=self._tags(front, "crane move"),
            ),
            chance=chance,
        )

    def _panel(self, front: Front, number: int, crate: Crate, *, after: list[str], gives: list[Give]) -> str:
        family: Family = self.sequence.settings.family[crate.family]
        levels = self.sequence.levels
        chance = Chance(
            self.panels,
            factor=float(levels.difficulty[front.spot]),
            terms=(Term(family.set_min, "setting a panel"),),
            pace=self.name,
        )
        self.panels += 1
        height_m = float(levels.height_m[front.floor])
        return self.draft.add(
            Step(
                f"{self.name} {front.where}: panel {number}",
                work=self.draft.expected(chance),
                after=after,
                gives=gives,
                window=self.draft.closures.window(
                    self.trade.calendar, limits=family.limits, height_m=height_m
                ),
                mode="start",
                place=front.where,
                tags=self._tags(front, "lift"),
            ),
            chance=chance,
        )
