"""Return visits for which the new panels of a level are gathered: one trip of gang and crane for several.

A level has as many visits as the scenario allows; each waits for the new panels that a draw gives it, and
then goes along the fronts of the level, taking gang, crane and strips anew on each: they go on at once unless
the strip of the next front is taken, when whoever is next has them meanwhile. Every panel has its steps on
every visit, of which a draw asks for one at most.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from towerpace.plan.arrays import NONE
from towerpace.plan.columns import Words
from towerpace.plan.site.fronts import Front, holes_closed_step
from towerpace.plan.site.gathered import Gathered
from towerpace.plan.site.lifting import HowSet, Lifting, Panel, Visit
from towerpace.plan.site.numbers import Numbers
from towerpace.scenario.schema import PanelTrade, Returns
from towerpace.units import Ints

GATHERED = "gathered"
ON_RETURN = HowSet("setting on return", on_return=True)


@dataclass(frozen=True, slots=True)
class Hole:
    """A panel that may leave a hole, with the step that sets it and the rank of its front."""

    panel: Panel
    step: int
    front: Front
    rank: int


@dataclass
class ReturnVisits:
    """Writes the visits to every level, when all fronts of the trade are written.

    bring : writes how a hole's new panel is made and comes up, under a flag and a word that tells whose.
    row, set_up : row of the ledger, and purpose under which set-ups are drawn.
    """

    lifting: Lifting
    number: int
    bring: Callable[[Hole, int, str], tuple[int, int]]
    row: str
    set_up: str
    holes: dict[int, list[Hole]] = field(default_factory=dict)
    fronts: dict[int, list[tuple[Visit, int]]] = field(default_factory=dict)
    _chains: dict[tuple[int, int], tuple[int, ...]] = field(default_factory=dict, init=False)
    _arrive: dict[tuple[int, int], tuple[int, ...]] = field(default_factory=dict, init=False)
    _along: dict[tuple[int, int], tuple[int, ...]] = field(default_factory=dict, init=False)

    def add(self, hole: Hole) -> None:
        """Note a panel that may be lost."""
        self.holes.setdefault(hole.front.floor, []).append(hole)

    def close(self, visit: Visit, *, last: int) -> None:
        """Note a front that has no holes when the last visit to its level is over."""
        self.fronts.setdefault(visit.front.floor, []).append((visit, last))

    def write(self) -> None:
        """All visits, level by level, and the steps at which the fronts have no holes."""
        draft = self.lifting.draft
        for floor, fronts in self.fronts.items():
            ends = [self._visit(self.holes[floor], number) for number in range(self.number)]
            for visit, last in fronts:
                key = holes_closed_step(self.lifting.name, visit.front)
                tags = draft.tags(self.row, visit.front, kind="holes closed")
                draft.add((visit.name, ": holes closed"), key=key, after=[last, *ends], tags=tags)

    def set_again(self, panel: Panel) -> tuple[int, ...]:
        """The step that sets a panel on each visit to its level."""
        return tuple(self._chains[number, panel.item][-1] for number in range(self.number))

    def law(self, items: Ints) -> Callable[[Numbers], Gathered]:
        """How a draw fills the visits, for panels by number in ascending order."""
        holes = {hole.panel.item: hole for level in self.holes.values() for hole in level}
        own = [holes.get(item) for item in items.tolist()]
        fronts = range(len(self.lifting.order.fronts))
        columns = {
            "floor": np.array([NONE if hole is None else hole.front.floor for hole in own], dtype=np.int64),
            "front": np.array([NONE if hole is None else hole.front.number for hole in own], dtype=np.int64),
            "chains": self._table(self._chains, items.tolist()),
            "arrive": self._table(self._arrive, fronts),
            "along": self._table(self._along, fronts),
        }
        name = self.lifting.name

        def gathered(numbers: Numbers) -> Gathered:
            terms = _terms(numbers, name)
            return Gathered(**columns, most=terms.most, days=float(terms.days))

        return gathered

    def _table(self, steps: Mapping[tuple[int, int], Sequence[int]], columns: Iterable[int]) -> Ints:
        """Step numbers by visit and panel or front, short rows padded with -1, (n_visits, n, 4)."""
        places = list(columns)
        table = np.full((self.number, len(places), 4), NONE, dtype=np.int64)
        for number in range(self.number):
            for k, place in enumerate(places):
                own = steps.get((number, place), ())
                table[number, k, : len(own)] = own
        return table

    def _visit(self, holes: list[Hole], number: int) -> int:
        """One visit to a level, front by front; its last step."""
        draft, level = self.lifting.draft, holes[0].front.level
        what = f"visit {number + 1}"
        flags = {hole: draft.flag((hole.panel.name, ": not on ", what)) for hole in holes}
        brought = {hole: self.bring(hole, flags[hole], what) for hole in holes}
        name = f"{self.lifting.name} L{level}: {what} gathered"
        tags = draft.tags(self.row, level=level, kind=GATHERED)
        last = draft.add(name, after=[up for _, up in brought.values()], tags=tags)
        for front in dict.fromkeys(hole.front for hole in holes):
            own = [hole for hole in holes if hole.front is front]
            here: Words = (self.lifting.name, f" {front.where}: ", what)
            # One of the two takes place: the crane changes level, or comes along it from another front.
            arrive = self._at(own[0], number, name=here, by_hoist=True)
            along = self._at(own[0], number, name=(here, " along"), by_hoist=False)
            taker, ready = self.lifting.move_in(arrive, [last])
            taker_along, ready_along = self.lifting.move_in(along, [last])
            before = [ready, ready_along]
            for hole in own:
                shift, last = self._set_again(hole, arrive, flag=flags[hole], what=what, after=before)
                self._chains[number, hole.panel.item] = (*brought[hole], shift, last)
                before = [last]
            left = self._leave(arrive, taker, after=last)
            last = self._leave(along, taker_along, after=left)
            self._arrive[number, front.number] = tuple(dict.fromkeys((taker, ready, left)))
            self._along[number, front.number] = taker_along, last
        return last

    def _at(self, hole: Hole, number: int, *, name: Words, by_hoist: bool) -> Visit:
        flag, item = self.lifting.draft.flag((name, ": none")), hole.front.number * self.number + number
        return Visit(
            hole.front, name, self.row, hole.rank, self.set_up, item, flag, remedy=True, by_hoist=by_hoist
        )

    def _leave(self, visit: Visit, taker: int, *, after: int) -> int:
        """Gang and crane leave; a step of its own, as any of the lifts before may be left out."""
        draft, front = self.lifting.draft, visit.front
        return draft.add(
            (visit.name, ": left"),
            after=[after],
            gives=self.lifting.leave(visit, taker),
            stands=front.where,
            flag=visit.flag,
            planned=False,
            tags=draft.tags(self.row, front, kind="leaving"),
        )

    def _set_again(
        self, hole: Hole, visit: Visit, *, flag: int, what: str, after: list[int]
    ) -> tuple[int, int]:
        """The crane shifted to a panel and the lift; the two steps."""
        panel, lifting = hole.panel, self.lifting
        own = replace(visit, name=(panel.name, " ", what), panel=panel.item)
        shifted = replace(own, flag=lifting.draft.flag((own.name, ": not shifted")))
        shift = lifting.reposition(shifted, item=panel.item, after=after, again=True)
        again = lifting.set_panel(
            own, panel, name=(panel.name, " again, ", what), after=[shift], gives=[], how=ON_RETURN, flag=flag
        )
        return shift, again


def _terms(numbers: Numbers, name: str) -> Returns:
    trade = numbers.settings.trade[name]
    assert isinstance(trade, PanelTrade), "the kind of a trade decides about steps"
    assert trade.returns is not None, "asked for only where new panels are gathered"
    return trade.returns
