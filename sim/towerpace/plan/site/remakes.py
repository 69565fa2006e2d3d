"""Panels that are lost and made anew: lead time, up again, and a return visit for each.

For a panel that may leave a hole, four or five steps wait under a flag of its own that nearly always leaves
them out: the remake, its hoist trip, and the visit of gang and crane. For one that may be broken later, the
same without the hoist trip: the hoist may be gone by then, and the panel comes up by whatever is there.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from towerpace.plan.laws import DAY_MIN, Term
from towerpace.plan.model import NONE
from towerpace.plan.parts import Step, Tags
from towerpace.plan.site.crates import HOISTING
from towerpace.plan.site.fronts import Front, closing_in_name
from towerpace.plan.site.hoisting import Hoisting
from towerpace.plan.site.lifting import Lifting, Panel, Visit
from towerpace.plan.site.losses import Ints, LossLaw
from towerpace.scenario.schema.setting import FOUND_UNPACKING, LEAVING_HOLES

RETURNS, REMAKE = "return visits", "remake"
RETURN_SET_UP = "crane set-up on return"
Chain = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class AtRisk:
    """A panel with its steps: the one that sets it, and what follows a loss of each kind.

    passes : whether the setting step is passed over for an unfit panel.
    """

    panel: Panel
    normal: str
    unfit: Chain = ()
    broken: Chain = ()
    later: Chain = ()
    passes: bool = True

    @property
    def if_unfit(self) -> str:
        """The step that sets it if it was unfit."""
        return self.unfit[-1] if self.unfit and self.passes else self.normal

    @property
    def if_broken(self) -> str:
        """The step that sets it if it broke while it was set."""
        return self.broken[-1] if self.broken else self.normal


@dataclass
class Remakes:
    """Writes what follows the losses of one panel trade; keeps every panel that something may befall."""

    lifting: Lifting
    at_risk: list[AtRisk] = field(default_factory=list)

    def unfit_flag(self, panel: Panel) -> str | None:
        """Flag under which the setting step is passed over; None for a panel never found bad unpacked."""
        return f"{panel.name}: unfit" if self.lifting.family(panel).chance(*FOUND_UNPACKING) > 0 else None

    def add(self, panel: Panel, front: Front, *, rank: int) -> str | None:
        """Everything that may follow the loss of a panel set on its front; the step that closes its hole."""
        family, lifting = self.lifting.family(panel), self.lifting
        hole = self._hole(panel, front, rank=rank) if family.chance(*LEAVING_HOLES) > 0 else ()
        later = self._later(panel, front, rank=rank) if family.chance("later_break_chance") > 0 else ()
        if hole or later or family.chance("misfit_chance") > 0:
            self.at_risk.append(AtRisk(panel, panel.name, hole, hole, later))
        lifting.draft.panels.append((panel.name, hole[-1] if hole else None))
        return hole[-1] if hole else None

    def close(self, name: str, *, front: Front, last: str, returns: list[str]) -> None:
        """The step at whose end a front has no holes."""
        tags = Tags(trade=RETURNS, level=front.level, zone=front.zone, kind="holes closed")
        self.lifting.draft.add(Step(name, after=[last, *returns], tags=tags))

    def lead(
        self, panel: Panel, name: str, *, front: Front, after: list[str], skip: str, found: bool = False
    ) -> str:
        """The time from a loss until the new panel is there; found : after a time in which nobody knows."""
        family = self.lifting.family(panel)
        assert family.remake_days is not None, "the scenario is checked when it is loaded"
        unknown = family.later_found_days.mean() if found and family.later_found_days else 0.0
        return self.lifting.draft.add(
            Step(
                name,
                work=round((family.remake_days.mean() + unknown) * DAY_MIN),
                after=after,
                skip=skip,
                planned=False,
                tags=Tags(level=front.level, zone=front.zone, kind=REMAKE),
            )
        )

    def visit(
        self,
        visit: Visit,
        panel: Panel,
        *,
        name: str,
        after: list[str],
        purpose: str,
        mean_factor: float = 1.0,
    ) -> Chain:
        """Gang and crane come back for one panel."""
        taker, ready = self.lifting.move_in(visit, after)
        factor = float(self.lifting.trade.return_set_factor)
        gives = self.lifting.leave(visit, taker)
        again = self.lifting.set_panel(
            visit,
            panel,
            name=name,
            after=[ready],
            gives=gives,
            purpose=purpose,
            factor=factor,
            mean_factor=mean_factor,
        )
        return tuple(dict.fromkeys((taker, ready, again)))

    def law(self, index: dict[str, int]) -> LossLaw:
        """What befalls the panels."""
        at_risk = sorted(self.at_risk, key=lambda one: one.panel.item)
        settings = self.lifting.sequence.settings
        names = list(dict.fromkeys(one.panel.family for one in at_risk))
        steps = {
            cause: _padded([getattr(one, cause) for one in at_risk], index)
            for cause in ("unfit", "broken", "later")
        }
        return LossLaw(
            trade=self.lifting.name,
            families=tuple(settings.family[name] for name in names),
            family=np.array([names.index(one.panel.family) for one in at_risk], dtype=np.int64),
            items=np.array([one.panel.item for one in at_risk], dtype=np.int64),
            normal=np.array([index[one.normal] for one in at_risk], dtype=np.int64),
            passes=np.array([one.passes for one in at_risk], dtype=np.bool_),
            set_if_unfit=np.array([index[one.if_unfit] for one in at_risk], dtype=np.int64),
            set_if_broken=np.array([index[one.if_broken] for one in at_risk], dtype=np.int64),
            **steps,
        )

    def _hole(self, panel: Panel, front: Front, *, rank: int) -> Chain:
        skip = f"{panel.name}: no hole"
        made = self.lead(panel, f"{panel.name} remade", front=front, after=[panel.name], skip=skip)
        up = self._up_again(panel, front, after=made, rank=rank, skip=skip)
        visit = Visit(front, f"{panel.name} return", RETURNS, rank, RETURN_SET_UP, panel.item, skip, True)
        name, purpose = f"{panel.name} again", "setting on return"
        return (made, up, *self.visit(visit, panel, name=name, after=[up], purpose=purpose))

    def _later(self, panel: Panel, front: Front, *, rank: int) -> Chain:
        """Found after closing-in, where there is one: what is broken earlier would hold it."""
        skip, sequence = f"{panel.name}: stays whole", self.lifting.sequence
        closed = sequence.closed_step(self.lifting.name, front)
        known = closing_in_name(front.level) if sequence.settings.closing_in else closed
        made = self.lead(
            panel, f"{panel.name} replacement made", front=front, after=[known], skip=skip, found=True
        )
        visit = Visit(
            front,
            f"{panel.name} replacement",
            RETURNS,
            rank,
            "crane set-up for replacement",
            panel.item,
            skip,
            remedy=True,
            by_hoist=False,
        )
        name, purpose = f"{panel.name} replaced", "setting a replacement"
        return (made, *self.visit(visit, panel, name=name, after=[made], purpose=purpose))

    def _up_again(self, panel: Panel, front: Front, *, after: str, rank: int, skip: str) -> str:
        """One panel by hoist, before the crates of later fronts."""
        lifting = self.lifting
        hoisting = Hoisting(lifting.draft, lifting.name, lifting.sequence)
        terms = (
            Term(hoisting.terms.load_min, "loading a new panel"),
            Term(hoisting.terms.unload_min, "unloading a new panel"),
        )
        tags = Tags(trade=HOISTING, level=front.level, zone=front.zone, kind="hoist trip")
        step = Step(f"{panel.name} up again", after=[after], rank=rank, skip=skip, planned=False, tags=tags)
        return hoisting.trip(front, step, panel.item, terms)


def _padded(chains: list[Chain], index: dict[str, int]) -> Ints:
    """Step numbers of every chain in a row of its own, the short ones padded."""
    table = np.full((len(chains), max([1, *map(len, chains)])), NONE, dtype=np.int64)
    for row, chain in zip(table, chains, strict=True):
        row[: len(chain)] = [index[name] for name in chain]
    return table
