"""Panels left out at ties and landings, closed when the tie is gone: the hardest to set, one gap at a time.

They come up with the other panels of their front and stand aside meanwhile. One found bad when it is unpacked
is made anew long before its turn; one broken while it is set is made anew and set on a return visit. None is
broken later: nobody works there any more. Their cranes and new panels ask for no hoist, which may be gone.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import ClassVar

import numpy as np

from towerpace.lots.streams import Streams
from towerpace.plan.arrays import PlanArrays
from towerpace.plan.chance import MINUTES, Drawn, Known, Law, MadeOnce, stretch
from towerpace.plan.columns import Handed
from towerpace.plan.site.fronts import Front, leave_outs_step
from towerpace.plan.site.lifting import HowSet, Lifting, Panel, Visit, gap_factor
from towerpace.plan.site.remakes import AtRisk, Chain, Remakes, return_of
from towerpace.scenario.schema import LeaveOuts, Settings
from towerpace.scenario.spread_rows import Row, Run
from towerpace.scenario.spreads import Spread
from towerpace.units import Ints

LEAVE_OUTS, SET_UP = "leave-outs", "crane set-up at leave-outs"
IN_A_GAP = HowSet("setting a leave-out", gap=True)
IN_A_GAP_AGAIN = HowSet("setting on return", on_return=True, gap=True)


@dataclass(frozen=True)
class SlowerLaw(MadeOnce, Law):
    """Minutes of the steps that close leave-outs times a drawn factor, the same for both steps of one panel.

    steps, items : (k,).
    """

    source: ClassVar[str] = MINUTES
    trade: str
    steps: Ints
    items: Ints
    factor: Spread

    def apply(self, into: Drawn, streams: Streams, known: Known) -> None:
        """Draw the factor of every panel."""
        stretch(into, self.steps, factor=self._row.drawn(streams), known=known)

    def takes_many(self, known: Known) -> bool:  # noqa: ARG002  one interface
        """Always."""
        return True

    @cached_property
    def _row(self) -> Row:
        return Row([Run(self.items, self.factor, f"closing a leave-out of {self.trade}")])

    def drawn_for(self, plan: PlanArrays) -> Iterator[tuple[Spread, float]]:  # noqa: ARG002  one interface
        """A factor for every panel left out."""
        yield self.factor, len(np.unique(self.items))


@dataclass
class LeaveOutFronts:
    """Writes the closing of the leave-outs of one panel trade."""

    lifting: Lifting
    remakes: Remakes
    left: dict[Front, list[tuple[Panel, int]]] = field(default_factory=dict)
    ranks: dict[Front, int] = field(default_factory=dict)
    slower: list[tuple[int, int]] = field(default_factory=list)

    def leave_out(self, panel: Panel, front: Front, *, trip: int, rank: int) -> None:
        """Note a panel that is not set now, and the trip that brings it."""
        self.left.setdefault(front, []).append((panel, trip))
        self.ranks[front] = rank

    def close(self) -> None:
        """Write the closing of all that was left out, each zone in its order."""
        order = self.lifting.order
        if not self.left:
            return
        fronts = sorted(self.left, key=lambda front: front.floor, reverse=self._terms.order == "down")
        for zone in order.levels.zones:
            previous: list[int] = []
            for front in (front for front in fronts if front.zone == zone):
                previous = [self._close_front(front, previous)]
        steps, items = np.array(self.slower, dtype=np.int64).T.copy()
        trade = self.lifting.name
        self.lifting.draft.laws.append(lambda n: SlowerLaw(trade, steps, items, gap_factor(n)))

    @property
    def _terms(self) -> LeaveOuts:
        return leave_outs_of(self.lifting.draft.settings)

    def _close_front(self, front: Front, previous: list[int]) -> int:
        """All leave-outs of a front in one visit; its last lift. What breaks does not hold the next front."""
        lifting, left, name = self.lifting, self.left[front], ("leave-outs ", front.where)
        waits = lifting.order.waits_for(
            lambda s: leave_outs_of(s).after, front, draft=lifting.draft, name=LEAVE_OUTS
        )
        remade = {panel: self._remade(panel, front, trip=trip) for panel, trip in left}
        there = [*(trip for _, trip in left), *(step for chain in remade.values() for step in chain)]
        visit = self._visit(Visit(front, name, LEAVE_OUTS, self.ranks[front], SET_UP, front.number))
        taker, last = lifting.move_in(visit, [*previous, *waits, *there])
        again: list[int] = []
        for k, (panel, _) in enumerate(left, start=1):
            gives = lifting.leave(visit, taker) if k == len(left) else []
            last = self._lift(visit, panel, after=[last], gives=gives)
            broken = self._broken(panel, last, visit)
            again += broken[-1:]
            self._note(panel, last, unfit=remade[panel], broken=broken)
        tags = lifting.draft.tags(LEAVE_OUTS, front)
        lifting.draft.add(name, key=leave_outs_step(front), after=[last, *again], tags=tags)
        return last

    def _visit(self, visit: Visit) -> Visit:
        """A visit to a gap: with a crane or by hand, and without the hoist."""
        return replace(visit, crane=self._terms.crane, by_hoist=False)

    def _lift(self, visit: Visit, panel: Panel, *, after: list[int], gives: list[Handed]) -> int:
        step = self.lifting.set_panel(visit, panel, name=panel.name, after=after, gives=gives, how=IN_A_GAP)
        self.slower.append((step, panel.item))
        return step

    def _remade(self, panel: Panel, front: Front, *, trip: int) -> Chain:
        """The new panel for one that was found bad; it is there before its turn comes, or its turn waits."""
        if not self.lifting.may_be_unfit(panel):
            return ()
        flag = self.lifting.draft.flag((panel.name, ": fit"))
        return (self.remakes.lead(panel, " remade", front=front, after=[trip], flag=flag),)

    def _broken(self, panel: Panel, step: int, first: Visit) -> Chain:
        """What follows if it breaks while it is set; last the step that then closes the gap."""
        if not self.lifting.may(panel, "handling_break_chance"):
            return ()
        front, flag = first.front, self.lifting.draft.flag((panel.name, ": no hole"))
        remade = self.remakes.lead(panel, " made again", front=front, after=[step], flag=flag)
        visit = self._visit(return_of(panel, front, rank=first.rank, flag=flag))
        back = self.remakes.visit(visit, panel, name=" again", after=[remade], how=IN_A_GAP_AGAIN)
        self.slower.append((back[-1], panel.item))
        return (remade, *back)

    def _note(self, panel: Panel, step: int, *, unfit: Chain, broken: Chain) -> None:
        if unfit or broken or self.lifting.may(panel, "misfit_chance"):
            self.remakes.at_risk.append(AtRisk(panel, step, unfit, broken, passes=False))
        self.lifting.draft.panels.append((step, broken[-1:]))


def leave_outs_of(settings: Settings) -> LeaveOuts:
    """What is said of leave-outs."""
    assert settings.leave_outs is not None, "asked for only where panels are left out"
    return settings.leave_outs
