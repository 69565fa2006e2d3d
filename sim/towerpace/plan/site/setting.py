"""Setting the panels of a front: gang, floor crane and strips together, then panel by panel."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from towerpace.plan.arrays import NONE
from towerpace.plan.columns import Handed, Words
from towerpace.plan.site.drafting import Draft
from towerpace.plan.site.fronts import HOISTING, Front, StepKey, front_begun, front_done
from towerpace.plan.site.leave_outs import LeaveOutFronts
from towerpace.plan.site.lifting import HowSet, Lifting, Panel, Visit
from towerpace.plan.site.logistics import Crate, Supplied, slot_pool
from towerpace.plan.site.remakes import Remakes
from towerpace.plan.site.sequence import Precedence
from towerpace.plan.site.supply import Supply
from towerpace.scenario.schema import PanelTrade

SET = HowSet()


class PanelFronts:
    """Writes the fronts of one panel trade into a draft: supplied crate by crate, set panel by panel.

    Every panel trade counts its panels, crates, trucks and visits from 0. So that no item of one trade is
    drawn with the same number as an item of another, all but the trade that stands first in the file draw
    from streams that bear their name. What is the site's, or named after the trade anyway (lags, risks,
    losses), is drawn alike for all.
    """

    def __init__(self, draft: Draft, *, name: str, trade: PanelTrade, order: Precedence) -> None:
        self._draft, self._name, self._order = draft, name, order
        own = draft if name == _first_panel_trade(order) else draft.owned_by(name)
        self._supply = Supply(own, name, trade, order)
        self._setting = Setting(own, name, trade, order)

    def add(self, front: Front, *, rank: int) -> None:
        """One front, from its trucks to its last panel."""
        after = self._order.waits(front, draft=self._draft, trade=self._name)
        supplied = self._supply.add(front, rank=rank)
        self._setting.add(front, supplied, after=after, rank=rank)

    def finish(self) -> None:
        """What can only be written when all fronts are."""
        self._supply.deliveries.finish()
        self._setting.finish()


def _first_panel_trade(order: Precedence) -> str:
    """The one that stands first in the file: its numbers stay when another is added behind it."""
    trades = order.settings.trade
    return next(name for name, trade in trades.items() if isinstance(trade, PanelTrade))


@dataclass
class Setting:
    """Writes the crane moves and lifts of one panel trade; counts panels as it goes."""

    draft: Draft
    name: str
    trade: PanelTrade
    order: Precedence
    panels: int = 0

    def __post_init__(self) -> None:
        self.lifting = Lifting(self.draft, self.name, self.trade, self.order)
        self.remakes = Remakes(self.lifting)
        self.left_out = LeaveOutFronts(self.lifting, self.remakes)

    def add(self, front: Front, supplied: Supplied, *, after: list[int | StepKey], rank: int) -> None:
        """From moving in to the last panel, which gives everything back; moving in waits for `after`."""
        name, begun = (self.name, " ", front.where), front_begun(self.name, front)
        visit = Visit(front, name, self.name, rank, "crane set-up", front.number, key=begun)
        total = self.order.set_now(self.trade, front)
        if total:
            after = [*after, *self._held_by_holes(front), supplied.trips[0]]
            taker, moved_in = self.lifting.move_in(visit, after)
            self._set(visit, supplied, total, taker=taker, moved_in=moved_in)
            return
        passed = self.draft.add(
            name, key=front_done(self.name, front), after=after, tags=self.draft.tags(self.name, front)
        )
        self.draft.ends[begun] = passed
        first = 0
        for crate, trip in zip(supplied.crates, supplied.trips, strict=True):
            self._leave_out(visit, crate, trip=trip, numbers=range(first, first + crate.panels))
            self._set_aside(visit, supplied, crate, trip=trip)
            first += crate.panels

    def finish(self) -> None:
        """What can only be written when all fronts are: leave-outs, and the chances of every panel."""
        self.left_out.close()
        self.remakes.register()

    def _held_by_holes(self, front: Front) -> Iterator[StepKey]:
        """With hole = "hold" no panel is set above a hole."""
        if self.trade.hole == "hold" and front.floor > 0:
            below = self.order.front_at(front.floor - 1, front.zone)
            if self.order.holes_on(self.trade, below):
                yield self.order.closed_step(self.name, below)

    def _set(self, visit: Visit, supplied: Supplied, total: int, *, taker: int, moved_in: int) -> None:
        """Panel by panel; with the last, gang and crane are free."""
        previous, number, opened, returns = moved_in, 0, 0, list[int]()
        per_position, done = self.lifting.crane.panels_per_position, front_done(self.name, visit.front)
        for crate, trip in zip(supplied.crates, supplied.trips, strict=True):
            inside = min(crate.panels, total - number)
            for k in range(inside):
                if number and number % per_position == 0:
                    previous = self.lifting.reposition(
                        visit, number=number, item=self.panels, after=[previous]
                    )
                number += 1
                gives = self._slot_of(visit, supplied) if k == inside - 1 else []
                gives += self.lifting.leave(visit, taker) if number == total else []
                panel = self._next(visit, number, crate)
                after = [previous, trip] if k == 0 else [previous]
                key = done if number == total else None
                previous = self._panel(visit, panel, after=after, gives=gives, key=key)
                returns += self.remakes.add(panel, previous, visit.front, rank=visit.rank)
            opened += crate.panels
            self._leave_out(visit, crate, trip=trip, numbers=range(opened - crate.panels + inside, opened))
            if not inside:
                self._set_aside(visit, supplied, crate, trip=trip)
            elif supplied.go_down is not None:
                supplied.go_down(crate, previous)
        if self.order.holes_on(self.trade, visit.front):
            self.remakes.close(visit, last=previous, returns=returns)

    def _next(self, visit: Visit, number: int, crate: Crate) -> Panel:
        self.panels += 1
        return Panel(self.panels - 1, crate.family, (visit.name, ": panel ", number))

    def _panel(
        self, visit: Visit, panel: Panel, *, after: list[int], gives: list[Handed], key: StepKey | None
    ) -> int:
        """One panel; what it gives back is given by a step of its own where the panel may be passed over."""
        flag = self.remakes.unfit_flag(panel)
        own = gives if flag == NONE else []
        done = self.lifting.set_panel(
            visit, panel, name=panel.name, after=after, gives=own, how=SET, flag=flag, key=key
        )
        if flag != NONE and gives:
            front, tags = visit.front, self.draft.tags(visit.row, visit.front, kind="unpacking")
            name: Words = (panel.name, " unpacked")
            self.draft.add(name, after=[done], gives=gives, stands=front.where, tags=tags, panel=panel.item)
        return done

    def _leave_out(self, visit: Visit, crate: Crate, *, trip: int, numbers: range) -> None:
        """Panels of a crate that are not set now, by their places on the front from 0."""
        for number in numbers:
            panel = self._next(visit, number + 1, crate)
            self.left_out.leave_out(panel, visit.front, trip=trip, rank=visit.rank)

    def _set_aside(self, visit: Visit, supplied: Supplied, crate: Crate, *, trip: int) -> None:
        """A crate of leave-outs alone is emptied when it comes up; its panels stand aside without a slot."""
        tags = self.draft.tags(HOISTING, visit.front, kind="set aside")
        name = (visit.name, ": crate ", crate.number, " set aside")
        step = self.draft.add(name, after=[trip], gives=self._slot_of(visit, supplied), tags=tags)
        if supplied.go_down is not None:
            supplied.go_down(crate, step)

    def _slot_of(self, visit: Visit, supplied: Supplied) -> list[Handed]:
        """The floor slot of a crate, free with its last panel unless the crate must go down first."""
        if supplied.slots is None or supplied.go_down is not None:
            return []
        return [Handed(self.draft.units({slot_pool(visit.front.level): 1}), supplied.slots)]
