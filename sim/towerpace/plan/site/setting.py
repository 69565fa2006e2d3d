"""Setting the panels of a front: gang, floor crane and strips together, then panel by panel."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from towerpace.plan.arrays import NONE
from towerpace.plan.columns import Handed, Words
from towerpace.plan.site.drafting import Draft
from towerpace.plan.site.fronts import HOISTING, Front, StepKey, front_begun, front_done
from towerpace.plan.site.leave_outs import LeaveOutFronts
from towerpace.plan.site.lifting import HowSet, Lifting, Panel, Visit
from towerpace.plan.site.logistics import Crate, Supplied, slot_pool
from towerpace.plan.site.methods import Strips, ground_pool, runs_of
from towerpace.plan.site.remakes import Remakes
from towerpace.plan.site.sequence import Precedence
from towerpace.plan.site.supply import Supply
from towerpace.scenario.schema import FLOOR_CRANE, PanelTrade

SET = HowSet()
Waits = Mapping[str | None, Sequence[int | StepKey]]
"""What a front waits for, by the way in which its panels are lifted."""


@dataclass
class _Progress:
    """How far a front is written, of so many panels.

    last : what the next step comes after. number : panels set. opened : panels of the crates so far.
    taker : the step that took what the visit keeps. run_begins, run_ends : panels set before and after it.
    returns : steps that close its holes.
    """

    total: int
    last: list[int | StepKey]
    number: int = 0
    opened: int = 0
    taker: int = NONE
    run_begins: int = 0
    run_ends: int = 0
    returns: list[int] = field(default_factory=list)

    def begin(self, run: Sequence[Crate]) -> None:
        """Go on with crates that are lifted in another way than those before."""
        self.run_begins = self.number
        self.run_ends = min(self.total, self.number + sum(crate.panels for crate in run))

    def due_to_shift(self, panels_per_position: int | None) -> bool:
        """Whether the next panel is out of reach."""
        done = self.number - self.run_begins
        return panels_per_position is not None and done > 0 and done % panels_per_position == 0


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
        crates = self._supply.crates_of(front)
        methods = dict.fromkeys(crate.method for crate in crates) or {None: None}
        waits = self._order.waits_of_methods(front, list(methods), draft=self._draft, trade=self._name)
        begins = list(dict.fromkeys(step for steps in waits.values() for step in steps))
        supplied = self._supply.add(front, crates, begins=begins, rank=rank)
        self._setting.add(front, supplied, waits=waits, rank=rank)

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
        self.strips = Strips(self.draft, self.name, self.trade)

    def add(self, front: Front, supplied: Supplied, *, waits: Waits, rank: int) -> None:
        """From moving in to the last panel, which gives everything back; moving in waits as `waits` says."""
        name, begun = (self.name, " ", front.where), front_begun(self.name, front)
        visit = Visit(front, name, self.name, rank, "crane set-up", front.number, key=begun)
        total = self.order.set_now(self.trade, front)
        if total:
            self._set(visit, supplied, total, waits=waits)
            return
        after = list(dict.fromkeys(step for steps in waits.values() for step in steps))
        passed = self.draft.add(
            name, key=front_done(self.name, front), after=after, tags=self.draft.tags(self.name, front)
        )
        self.draft.ends[begun] = passed
        first = 0
        for crate, trip in zip(supplied.crates, supplied.trips, strict=True):
            self._leave_out(visit, name, crate, trip=trip, numbers=range(first, first + crate.panels))
            self._set_aside(visit, supplied, crate, trip=trip)
            first += crate.panels

    def finish(self) -> None:
        """What can only be written when all fronts are: leave-outs, and the chances of every panel."""
        self.strips.close()
        self.left_out.close()
        self.remakes.register()

    def _held_by_holes(self, front: Front) -> Iterator[StepKey]:
        """With hole = "hold" no panel is set above a hole."""
        if self.trade.hole == "hold" and front.floor > 0:
            below = self.order.front_at(front.floor - 1, front.zone)
            if self.order.holes_on(self.trade, below):
                yield self.order.closed_step(self.name, below)

    def _set(self, visit: Visit, supplied: Supplied, total: int, *, waits: Waits) -> None:
        """Crates that are lifted the same way behind one move in; the last panel ends the front."""
        trips = {c.number: trip for c, trip in zip(supplied.crates, supplied.trips, strict=True)}
        at = _Progress(total, last=list(self._held_by_holes(visit.front)))
        for k, run in enumerate(runs_of(supplied.crates)):
            method = run[0].method
            own = replace(visit, method=method)
            if k:
                own = replace(own, name=(visit.name, " by ", method or FLOOR_CRANE), key=None)
            at.begin(run)
            if at.number < at.run_ends:
                strip = [] if method is None else self._hung(own, waits[method])
                after = [*waits[method], *strip, *at.last, trips[run[0].number]]
                at.taker, moved_in = self.lifting.move_in(own, after)
                at.last = [moved_in]
            for crate in run:
                self._empty(own, visit.name, supplied, crate, at, trip=trips[crate.number])
        if self.order.holes_on(self.trade, visit.front):
            (last,) = at.last
            assert isinstance(last, int), "a front with holes has panels that are set"
            self.remakes.close(visit, last=last, returns=at.returns)

    def _hung(self, visit: Visit, after: Sequence[int | StepKey]) -> list[int]:
        """What must hang over the strip before a visit, if anything does."""
        assert visit.method is not None, "a floor crane hangs over nothing"
        return self.strips.step(visit.method, visit.front, after=after, rank=visit.rank)

    def _empty(
        self, visit: Visit, name: Words, supplied: Supplied, crate: Crate, at: _Progress, *, trip: int
    ) -> None:
        """The panels of a crate, and what becomes of it; the last one of the visit gives everything back."""
        inside = min(crate.panels, at.total - at.number)
        for k in range(inside):
            if at.due_to_shift(self.lifting.panels_per_position(visit)):
                at.last = [self.lifting.reposition(visit, number=at.number, item=self.panels, after=at.last)]
            at.number += 1
            gives = self._slot_of(visit, supplied, crate) if k == inside - 1 else []
            gives += self.lifting.leave(visit, at.taker) if at.number == at.run_ends else []
            panel = self._next(name, at.number, crate)
            after = [*at.last, trip] if k == 0 else at.last
            key = front_done(self.name, visit.front) if at.number == at.total else None
            step = self._panel(visit, panel, after=after, gives=gives, key=key)
            at.last = [step]
            at.returns += self.remakes.add(panel, step, visit)
        at.opened += crate.panels
        left = range(at.opened - crate.panels + inside, at.opened)
        self._leave_out(visit, name, crate, trip=trip, numbers=left)
        if not inside:
            self._set_aside(visit, supplied, crate, trip=trip)
        elif supplied.go_down is not None and not crate.straight:
            supplied.go_down(crate, step)

    def _next(self, front: Words, number: int, crate: Crate) -> Panel:
        self.panels += 1
        return Panel(self.panels - 1, crate.family, (front, ": panel ", number))

    def _panel(
        self,
        visit: Visit,
        panel: Panel,
        *,
        after: Sequence[int | StepKey],
        gives: list[Handed],
        key: StepKey | None,
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

    def _leave_out(self, visit: Visit, name: Words, crate: Crate, *, trip: int, numbers: range) -> None:
        """Panels of a crate that are not set now, by their places on the front from 0."""
        for number in numbers:
            panel = self._next(name, number + 1, crate)
            self.left_out.leave_out(panel, visit.front, trip=trip, rank=visit.rank)

    def _set_aside(self, visit: Visit, supplied: Supplied, crate: Crate, *, trip: int) -> None:
        """A crate of leave-outs alone is emptied when it comes up; its panels stand aside without a slot."""
        tags = self.draft.tags(HOISTING, visit.front, kind="set aside")
        name = (visit.name, ": crate ", crate.number, " set aside")
        step = self.draft.add(name, after=[trip], gives=self._slot_of(visit, supplied, crate), tags=tags)
        if supplied.go_down is not None and not crate.straight:
            supplied.go_down(crate, step)

    def _slot_of(self, visit: Visit, supplied: Supplied, crate: Crate) -> list[Handed]:
        """The room of a crate, free with its last panel unless the crate must go down first."""
        if crate.straight:
            method = crate.method or ""
            claim = supplied.ground.get(method)
            return [] if claim is None else [Handed(self.draft.units({ground_pool(method): 1}), claim)]
        if supplied.slots is None or supplied.go_down is not None:
            return []
        return [Handed(self.draft.units({slot_pool(visit.front.level): 1}), supplied.slots)]
