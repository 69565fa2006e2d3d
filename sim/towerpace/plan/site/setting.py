"""Setting the panels of a front: gang, floor crane and strips together, then panel by panel."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from towerpace.plan.parts import Give, Step, Tags
from towerpace.plan.site.crates import HOISTING, Crate, Supplied
from towerpace.plan.site.drafting import Draft
from towerpace.plan.site.fronts import Front
from towerpace.plan.site.leave_outs import Gaps
from towerpace.plan.site.lifting import Lifting, Panel, Visit
from towerpace.plan.site.logistics import slot_pool
from towerpace.plan.site.remakes import Remakes
from towerpace.plan.site.sequence import Sequence
from towerpace.scenario.schema import PanelTrade


@dataclass
class Setting:
    """Writes the crane moves and lifts of one panel trade; counts panels as it goes."""

    draft: Draft
    name: str
    trade: PanelTrade
    sequence: Sequence
    panels: int = 0

    def __post_init__(self) -> None:
        self.lifting = Lifting(self.draft, self.name, self.trade, self.sequence)
        self.remakes = Remakes(self.lifting)
        self.gaps = Gaps(self.lifting, self.remakes)

    def add(self, front: Front, supplied: Supplied, *, after: list[str], rank: int) -> None:
        """From moving in to the last panel, which gives everything back; moving in waits for `after`."""
        base = f"{self.name} {front.where}"
        visit = Visit(front, base, self.name, rank, "crane set-up", front.number)
        total = self.sequence.set_now(self.trade, front)
        if total:
            after = [*after, *self._held_by_holes(front), supplied.trips[0]]
            taker, moved_in = self.lifting.move_in(visit, list(dict.fromkeys(after)))
            self._set(visit, supplied, total, taker=taker, moved_in=moved_in)
            return
        self.draft.add(Step(base, after=after, tags=self.lifting.tags(visit)))
        first = 0
        for crate, trip in zip(supplied.crates, supplied.trips, strict=True):
            self._leave_out(visit, crate, trip=trip, numbers=range(first, first + crate.panels))
            self._set_aside(visit, supplied, crate, trip=trip)
            first += crate.panels

    def finish(self) -> None:
        """What can only be written when all fronts are: leave-outs, and the chances of every panel."""
        self.gaps.close()
        if self.remakes.at_risk:
            self.draft.laws.append(self.remakes.law)

    def _held_by_holes(self, front: Front) -> Iterator[str]:
        """With hole = "hold" no panel is set above a hole."""
        if self.trade.hole == "hold" and front.floor > 0:
            below = self.sequence.front_at(front.floor - 1, front.zone)
            if self.sequence.holes_on(self.trade, below):
                yield self.sequence.closed_step(self.name, below)

    def _set(self, visit: Visit, supplied: Supplied, total: int, *, taker: str, moved_in: str) -> None:
        """Panel by panel; with the last, gang and crane are free."""
        previous, number, opened, returns = moved_in, 0, 0, []
        for crate, trip in zip(supplied.crates, supplied.trips, strict=True):
            inside = min(crate.panels, total - number)
            for k in range(inside):
                if number and number % self.lifting.crane.panels_per_position == 0:
                    previous = self.lifting.reposition(visit, number, item=self.panels, previous=previous)
                number += 1
                gives = self._slot_of(visit, supplied) if k == inside - 1 else []
                gives += self.lifting.leave(visit, taker) if number == total else []
                panel = self._next(visit, number, crate)
                after = [previous, trip] if k == 0 else [previous]
                previous = self._panel(visit, panel, after=after, gives=gives)
                returns.append(self.remakes.add(panel, visit.front, rank=visit.rank))
            opened += crate.panels
            self._leave_out(visit, crate, trip=trip, numbers=range(opened - crate.panels + inside, opened))
            if not inside:
                self._set_aside(visit, supplied, crate, trip=trip)
            elif supplied.go_down is not None:
                supplied.go_down(crate, previous)
        if self.sequence.holes_on(self.trade, visit.front):
            name = self.sequence.closed_step(self.name, visit.front)
            closings = [step for step in returns if step is not None]
            self.remakes.close(name, front=visit.front, last=previous, returns=closings)

    def _next(self, visit: Visit, number: int, crate: Crate) -> Panel:
        self.panels += 1
        return Panel(self.panels - 1, crate.family, f"{visit.name}: panel {number}")

    def _panel(self, visit: Visit, panel: Panel, *, after: list[str], gives: list[Give]) -> str:
        """One panel; what it gives back is given by a step of its own where the panel may be passed over."""
        skip = self.remakes.unfit_flag(panel)
        own = [] if skip else gives
        done = self.lifting.set_panel(visit, panel, name=panel.name, after=after, gives=own, skip=skip)
        if skip and gives:
            tags = self.lifting.tags(visit, "unpacking")
            self.draft.add(
                Step(f"{done} unpacked", after=[done], gives=gives, place=visit.front.where, tags=tags)
            )
        return done

    def _leave_out(self, visit: Visit, crate: Crate, *, trip: str, numbers: range) -> None:
        """Panels of a crate that are not set now, by their places on the front from 0."""
        for number in numbers:
            panel = self._next(visit, number + 1, crate)
            self.gaps.leave_out(panel, visit.front, trip=trip, rank=visit.rank)

    def _set_aside(self, visit: Visit, supplied: Supplied, crate: Crate, *, trip: str) -> None:
        """A crate of leave-outs alone is emptied when it comes up; its panels stand aside without a slot."""
        front = visit.front
        tags = Tags(trade=HOISTING, level=front.level, zone=front.zone, kind="set aside")
        name = f"{visit.name}: crate {crate.number} set aside"
        self.draft.add(Step(name, after=[trip], gives=self._slot_of(visit, supplied), tags=tags))
        if supplied.go_down is not None:
            supplied.go_down(crate, name)

    @staticmethod
    def _slot_of(visit: Visit, supplied: Supplied) -> list[Give]:
        """The floor slot of a crate, free with its last panel unless the crate must go down first."""
        if supplied.slots is None or supplied.go_down is not None:
            return []
        return [Give(slot_pool(visit.front.level), 1, supplied.slots)]
