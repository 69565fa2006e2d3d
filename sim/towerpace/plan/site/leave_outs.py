"""Panels left out at ties and landings, closed when the tie is gone: the hardest to set, one gap at a time.

They come up with the other panels of their front and stand aside meanwhile. One found bad when it is unpacked
is made anew long before its turn; one broken while it is set is made anew and set on a return visit. None is
broken later: nobody works there any more. Their cranes and new panels ask for no hoist, which may be gone.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from towerpace.plan.laws import Drawn, Streams
from towerpace.plan.parts import Step, Tags
from towerpace.plan.site.fronts import Front, leave_outs_name
from towerpace.plan.site.lifting import Lifting, Panel, Visit
from towerpace.plan.site.losses import Ints
from towerpace.plan.site.remakes import RETURNS, AtRisk, Chain, Remakes
from towerpace.scenario.schema import LeaveOuts
from towerpace.scenario.schema.setting import FOUND_UNPACKING
from towerpace.scenario.spreads import Spread

LEAVE_OUTS = "leave-outs"


@dataclass(frozen=True)
class SlowerLaw:
    """Minutes of the steps that close leave-outs times a drawn factor, the same for both steps of one panel.

    steps, items : (k,).
    """

    trade: str
    steps: Ints
    items: Ints
    factor: Spread

    def apply(self, into: Drawn, streams: Streams) -> None:
        """Draw the factor of every panel."""
        drawn = streams(f"closing a leave-out of {self.trade}").random(int(self.items.max()) + 1)
        usual = into.work[self.steps]
        slower = np.rint(usual * self.factor.quantile(drawn[self.items]))
        into.work[self.steps] = np.where(usual > 0, np.maximum(slower, 1), 0).astype(np.int64)


@dataclass
class Gaps:
    """Writes the closing of the leave-outs of one panel trade."""

    lifting: Lifting
    remakes: Remakes
    left: dict[Front, list[tuple[Panel, str]]] = field(default_factory=dict)
    ranks: dict[Front, int] = field(default_factory=dict)
    slower: list[tuple[str, int]] = field(default_factory=list)

    def leave_out(self, panel: Panel, front: Front, *, trip: str, rank: int) -> None:
        """Note a panel that is not set now, and the trip that brings it."""
        self.left.setdefault(front, []).append((panel, trip))
        self.ranks[front] = rank

    def close(self) -> None:
        """Write the closing of all that was left out, each zone in its order."""
        sequence = self.lifting.sequence
        if not self.left:
            return
        fronts = sorted(self.left, key=lambda front: front.floor, reverse=self._terms.order == "down")
        for zone in sequence.levels.zones:
            previous: list[str] = []
            for front in (front for front in fronts if front.zone == zone):
                previous = [self._close_front(front, previous)]
        self.lifting.draft.laws.append(self._slower_law)

    @property
    def _terms(self) -> LeaveOuts:
        terms = self.lifting.sequence.settings.leave_outs
        assert terms is not None, "asked for only where panels are left out"
        return terms

    def _close_front(self, front: Front, previous: list[str]) -> str:
        """All leave-outs of a front in one visit; its last lift. What breaks does not hold the next front."""
        terms, lifting, left = self._terms, self.lifting, self.left[front]
        name = leave_outs_name(front)
        waits = lifting.sequence.waits_for(terms.after, front, draft=lifting.draft, name=LEAVE_OUTS)
        remade = {panel: self._remade(panel, front, trip=trip) for panel, trip in left}
        ready_at = [
            *previous,
            *waits,
            *(trip for _, trip in left),
            *(s for chain in remade.values() for s in chain),
        ]
        visit = Visit(
            front,
            name,
            LEAVE_OUTS,
            self.ranks[front],
            "crane set-up at leave-outs",
            front.number,
            crane=terms.crane,
            by_hoist=False,
        )
        taker, last = lifting.move_in(visit, list(dict.fromkeys(ready_at)))
        again: list[str] = []
        for k, (panel, _) in enumerate(left, start=1):
            gives = lifting.leave(visit, taker) if k == len(left) else []
            last = lifting.set_panel(
                visit,
                panel,
                name=panel.name,
                after=[last],
                gives=gives,
                purpose="setting a leave-out",
                mean_factor=terms.set_factor.mean(),
            )
            self.slower.append((last, panel.item))
            again += self._broken(panel, visit, unfit=remade[panel])
        lifting.draft.add(Step(name, after=[last, *again], tags=self._tags(front)))
        return last

    @staticmethod
    def _tags(front: Front) -> Tags:
        return Tags(trade=LEAVE_OUTS, level=front.level, zone=front.zone)

    def _remade(self, panel: Panel, front: Front, *, trip: str) -> Chain:
        """The new panel for one that was found bad; it is there before its turn comes, or its turn waits."""
        if not self.lifting.family(panel).chance(*FOUND_UNPACKING) > 0:
            return ()
        skip = f"{panel.name}: fit"
        return (self.remakes.lead(panel, f"{panel.name} remade", front=front, after=[trip], skip=skip),)

    def _broken(self, panel: Panel, first: Visit, *, unfit: Chain) -> Chain:
        """What follows if it breaks while it is set; the step that then closes the gap."""
        family, front = self.lifting.family(panel), first.front
        chain: Chain = ()
        if family.chance("handling_break_chance") > 0:
            skip = f"{panel.name}: no hole"
            made = self.remakes.lead(
                panel, f"{panel.name} made again", front=front, after=[panel.name], skip=skip
            )
            visit = Visit(
                front,
                f"{panel.name} return",
                RETURNS,
                first.rank,
                "crane set-up on return",
                panel.item,
                skip,
                remedy=True,
                crane=first.crane,
                by_hoist=False,
            )
            name, purpose = f"{panel.name} again", "setting on return"
            chain = (
                made,
                *self.remakes.visit(
                    visit,
                    panel,
                    name=name,
                    after=[made],
                    purpose=purpose,
                    mean_factor=self._terms.set_factor.mean(),
                ),
            )
            self.slower.append((chain[-1], panel.item))
        if unfit or chain or family.chance("misfit_chance") > 0:
            self.remakes.at_risk.append(AtRisk(panel, panel.name, unfit, chain, passes=False))
        self.lifting.draft.panels.append((panel.name, chain[-1] if chain else None))
        return chain[-1:]

    def _slower_law(self, index: dict[str, int]) -> SlowerLaw:
        steps = np.array([index[name] for name, _ in self.slower], dtype=np.int64)
        items = np.array([item for _, item in self.slower], dtype=np.int64)
        return SlowerLaw(self.lifting.name, steps, items, self._terms.set_factor)
