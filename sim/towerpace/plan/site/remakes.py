"""Panels that are lost and made anew: lead time, up again, and a return visit for each.

For a panel that may leave a hole, four or five steps wait under a flag of its own that nearly always leaves
them out: the remake, its hoist trip, and the visit of gang and crane. For one that may be broken later, the
same without the hoist trip: the hoist may be gone by then, and the panel comes up by whatever is there. Where
the scenario gathers new panels, `return_visits` writes the visits for holes instead.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import partial

import numpy as np

from towerpace.plan.arrays import NONE
from towerpace.plan.chance import Law
from towerpace.plan.columns import Words
from towerpace.plan.site.fronts import Front, StepKey, closing_in_step, holes_closed_step
from towerpace.plan.site.hoisting import Hoisting, Trip, trip_minutes
from towerpace.plan.site.lifting import HowSet, Lifting, Panel, Visit
from towerpace.plan.site.losses import LossLaw
from towerpace.plan.site.methods import method_of
from towerpace.plan.site.numbers import Numbers, Recipe
from towerpace.plan.site.return_visits import ON_RETURN, Hole, ReturnVisits
from towerpace.scenario.schema.setting import LEAVING_HOLES
from towerpace.units import DAY_MIN, Ints

RETURNS, REMAKE = "return visits", "remake"
RETURN_SET_UP = "crane set-up on return"
REPLACED = HowSet("setting a replacement", on_return=True)
Chain = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class AtRisk:
    """A panel with its steps: the one that sets it, and what follows a loss of each kind.

    passes : whether the setting step is passed over for an unfit panel. gathered : whether new panels of its
    level are gathered for a visit, so that a draw says which steps follow.
    """

    panel: Panel
    normal: int
    unfit: Chain = ()
    broken: Chain = ()
    later: Chain = ()
    passes: bool = True
    gathered: bool = False

    @property
    def if_unfit(self) -> int:
        """The step that sets it if it was unfit."""
        return self.unfit[-1] if self.unfit and self.passes else self.normal

    @property
    def if_broken(self) -> int:
        """The step that sets it if it broke while it was set."""
        return self.broken[-1] if self.broken else self.normal


@dataclass
class Remakes:
    """Writes what follows the losses of one panel trade; keeps every panel that something may befall."""

    lifting: Lifting
    at_risk: list[AtRisk] = field(default_factory=list)
    _leads: dict[tuple[str, bool], Recipe] = field(default_factory=dict, init=False)
    _place: dict[int, int] = field(default_factory=dict, init=False)
    _together: ReturnVisits | None = field(default=None, init=False)

    def __post_init__(self) -> None:
        self._hoisting = Hoisting(self.lifting.draft, self.lifting.name, self.lifting.order)
        self._up = trip_minutes("loading a new panel", "unloading a new panel")
        terms = self.lifting.trade.returns
        if terms is not None:
            self._together = ReturnVisits(
                self.lifting, terms.visits, self._bring, row=RETURNS, set_up=RETURN_SET_UP
            )

    def unfit_flag(self, panel: Panel) -> int:
        """Flag under which the setting step is passed over; -1 for a panel never found bad unpacked."""
        return self.lifting.draft.flag((panel.name, ": unfit")) if self.lifting.may_be_unfit(panel) else NONE

    def add(self, panel: Panel, step: int, first: Visit) -> list[int]:
        """Everything that may follow the loss of a panel set on its front; the step that closes its hole.

        first : the visit in which it is set.
        """
        lifting, hole, gathered, front, rank = self.lifting, Chain(), False, first.front, first.rank
        method = self._again_by(first.method)
        if lifting.may(panel, *LEAVING_HOLES):
            if self._together is None:
                hole = self._hole(panel, step, front, rank=rank, method=method)
            else:
                self._together.add(Hole(panel, step, front, rank))
                gathered = True
        may_later = lifting.may(panel, "later_break_chance")
        later = self._later(panel, front, rank=rank, method=method) if may_later else ()
        if hole or gathered or later or lifting.may(panel, "misfit_chance"):
            self.at_risk.append(AtRisk(panel, step, hole, hole, later, gathered=gathered))
        lifting.draft.panels.append((step, hole[-1:]))
        self._place[panel.item] = len(lifting.draft.panels) - 1
        return list(hole[-1:])

    def close(self, visit: Visit, *, last: int, returns: list[int]) -> None:
        """The step at whose end a front has no holes."""
        if self._together is not None:
            self._together.close(visit, last=last)
            return
        draft, front = self.lifting.draft, visit.front
        tags = draft.tags(RETURNS, front, kind="holes closed")
        key = holes_closed_step(self.lifting.name, front)
        draft.add((visit.name, ": holes closed"), key=key, after=[last, *returns], tags=tags)

    def lead(
        self,
        panel: Panel,
        name: Words,
        *,
        front: Front,
        after: list[int | StepKey],
        flag: int,
        later: bool = False,
    ) -> int:
        """The time from a loss until the new panel is there; later : after a time in which nobody knows."""
        key, draft = (panel.family, later), self.lifting.draft
        if key not in self._leads:
            self._leads[key] = partial(_lead_min, *key)
        return draft.add(
            (panel.name, name),
            after=after,
            flag=flag,
            planned=False,
            tags=draft.tags(front=front, kind=REMAKE),
            panel=panel.item,
            work=self._leads[key],
        )

    def visit(self, visit: Visit, panel: Panel, *, name: Words, after: list[int], how: HowSet) -> Chain:
        """Gang and crane come back for one panel."""
        taker, ready = self.lifting.move_in(visit, after)
        gives = self.lifting.leave(visit, taker)
        again = self.lifting.set_panel(
            visit, panel, name=(panel.name, name), after=[ready], gives=gives, how=how
        )
        return tuple(dict.fromkeys((taker, ready, again)))

    def register(self) -> None:
        """Register what befalls the panels, when all are written."""
        if self._together is not None:
            self._together.write()
            self._note_visits(self._together)
        if not self.at_risk:
            return
        at_risk = sorted(self.at_risk, key=lambda panel: panel.panel.item)
        names = list(dict.fromkeys(panel.panel.family for panel in at_risk))
        columns = {
            "family": [names.index(panel.panel.family) for panel in at_risk],
            "items": [panel.panel.item for panel in at_risk],
            "normal": [panel.normal for panel in at_risk],
            "set_if_unfit": [panel.if_unfit for panel in at_risk],
            "set_if_broken": [panel.if_broken for panel in at_risk],
        }
        arrays = {key: np.array(column, dtype=np.int64) for key, column in columns.items()}
        for cause in ("unfit", "broken", "later"):
            arrays[cause] = padded([getattr(panel, cause) for panel in at_risk])
        together = None if self._together is None else self._together.law(arrays["items"])
        passes, trade = np.array([panel.passes for panel in at_risk], dtype=np.bool_), self.lifting.name

        def law(numbers: Numbers) -> Law:
            families = tuple(numbers.settings.family[name] for name in names)
            gathered = None if together is None else together(numbers)
            return LossLaw(trade=trade, families=families, passes=passes, gathered=gathered, **arrays)

        self.lifting.draft.laws.append(law)

    def _note_visits(self, together: ReturnVisits) -> None:
        """Which step sets each panel on each visit."""
        panels = self.lifting.draft.panels
        for at_risk in self.at_risk:
            if at_risk.gathered:
                place = self._place[at_risk.panel.item]
                panels[place] = (at_risk.normal, together.set_again(at_risk.panel))

    def _bring(self, hole: Hole, flag: int, what: str) -> tuple[int, int]:
        """A new panel for a visit: made, and up by hoist; the two steps."""
        panel, front = hole.panel, hole.front
        remade = self.lead(panel, f" remade, {what}", front=front, after=[hole.step], flag=flag)
        return remade, self._up_again(panel, front, after=remade, rank=hole.rank, flag=flag, what=f", {what}")

    def _again_by(self, method: str | None) -> str | None:
        """How a panel is set again that was first lifted in some way; None by the floor crane."""
        if method is None or not method_of(self.lifting.draft.settings, method).sets_again:
            return None
        return method

    def _hole(self, panel: Panel, step: int, front: Front, *, rank: int, method: str | None) -> Chain:
        flag = self.lifting.draft.flag((panel.name, ": no hole"))
        remade = self.lead(panel, " remade", front=front, after=[step], flag=flag)
        up = self._up_again(panel, front, after=remade, rank=rank, flag=flag, method=method)
        visit = replace(return_of(panel, front, rank=rank, flag=flag), method=method)
        return (remade, up, *self.visit(visit, panel, name=" again", after=[up], how=ON_RETURN))

    def _later(self, panel: Panel, front: Front, *, rank: int, method: str | None) -> Chain:
        """Found after closing-in, where there is one: what is broken earlier would hold it."""
        flag, order = self.lifting.draft.flag((panel.name, ": stays whole")), self.lifting.order
        closed = order.closed_step(self.lifting.name, front)
        known = closing_in_step(front.level) if order.settings.closing_in else closed
        remade = self.lead(panel, " replacement made", front=front, after=[known], flag=flag, later=True)
        visit = Visit(
            front,
            (panel.name, " replacement"),
            RETURNS,
            rank,
            "crane set-up for replacement",
            panel.item,
            flag,
            remedy=True,
            by_hoist=False,
            panel=panel.item,
            method=method,
        )
        return remade, *self.visit(visit, panel, name=" replaced", after=[remade], how=REPLACED)

    def _up_again(
        self,
        panel: Panel,
        front: Front,
        *,
        after: int,
        rank: int,
        flag: int,
        what: str = "",
        method: str | None = None,
    ) -> int:
        """One panel by hoist, before the crates of later fronts; one lifted straight stands below."""
        if method is not None and method_of(self.lifting.draft.settings, method).straight:
            return self.lifting.draft.add(
                (panel.name, f" below again{what}"),
                after=[after],
                flag=flag,
                planned=False,
                tags=self.lifting.draft.tags(front=front, kind=REMAKE),
                panel=panel.item,
            )
        trip = Trip((panel.name, f" up again{what}"), "hoist trip", self._up, panel.item, panel.item)
        return self._hoisting.trip(front, trip, after=[after], rank=rank, remedy=flag)


def return_of(panel: Panel, front: Front, *, rank: int, flag: int) -> Visit:
    """The return visit to the hole of a panel."""
    name = (panel.name, " return")
    return Visit(front, name, RETURNS, rank, RETURN_SET_UP, panel.item, flag, remedy=True, panel=panel.item)


def _lead_min(family: str, later: bool, numbers: Numbers) -> int:
    """Mean minutes from a loss until the new panel is at the gate. [min]"""
    stated = numbers.settings.family[family]
    assert stated.remake_days is not None, "the scenario is checked when it is loaded"
    unknown = stated.later_found_days.mean() if later and stated.later_found_days else 0.0
    return round((stated.remake_days.mean() + unknown) * DAY_MIN)


def padded(chains: list[Chain]) -> Ints:
    """Step numbers of every chain in a row of its own, the short ones padded with -1."""
    table = np.full((len(chains), max([1, *map(len, chains)])), NONE, dtype=np.int64)
    for row, chain in zip(table, chains, strict=True):
        row[: len(chain)] = chain
    return table
