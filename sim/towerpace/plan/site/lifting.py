"""What every visit of a panel gang to a front has in common: moving in, setting panels, leaving."""

from __future__ import annotations

from dataclasses import dataclass

from towerpace.plan.laws import Term
from towerpace.plan.parts import Give, Step, Tags
from towerpace.plan.site.crane_moves import CraneMoves, kept_clear, landing, whole_strip
from towerpace.plan.site.drafting import Chance, Draft
from towerpace.plan.site.fronts import Front, strip_pool
from towerpace.plan.site.learning import learned_factor
from towerpace.plan.site.sequence import Sequence
from towerpace.scenario.schema import Crane, Family, PanelTrade

CRANE_MOVE, LIFT = "crane move", "lift"


@dataclass(frozen=True, slots=True)
class Panel:
    """One panel of the tower: its number in planned order from 0, its family, and the step that sets it."""

    item: int
    family: str
    name: str


@dataclass(frozen=True, slots=True)
class Visit:
    """Gang and crane on a front, from moving in until they leave.

    name : what its steps are named after. row : whose row of the ledger its minutes belong to.
    set_up, item : purpose under which its set-up is drawn, and the place there.
    skip : flag under which it does not take place. remedy : whether no plan counts on it.
    crane : whether a floor crane comes. by_hoist : whether its way between levels takes what that needs.
    """

    front: Front
    name: str
    row: str
    rank: int
    set_up: str
    item: int
    skip: str | None = None
    remedy: bool = False
    crane: bool = True
    by_hoist: bool = True


@dataclass(frozen=True)
class Lifting:
    """Writes the visits of one panel trade into a draft."""

    draft: Draft
    name: str
    trade: PanelTrade
    sequence: Sequence

    @property
    def crane(self) -> Crane:
        """The floor crane of the scenario."""
        assert self.sequence.settings.crane is not None, "the scenario is checked when it is loaded"
        return self.sequence.settings.crane

    def family(self, panel: Panel) -> Family:
        """The family of a panel."""
        return self.sequence.settings.family[panel.family]

    def move_in(self, visit: Visit, after: list[str]) -> tuple[str, str]:
        """Take everything and set up; the step that took it, and the one before the first panel."""
        chance = Chance(visit.item, terms=(Term(self.crane.set_up_min, visit.set_up),))
        if not visit.crane:
            taker = self._site_step(visit, "move in", after=after, chance=None, needs=self._needs(visit))
        elif self._takes_hoist(visit):
            taker = self._to_level(visit, after)
            moves = CraneMoves(self.crane, self.sequence.fronts)
            along = Chance(visit.item, fixed=moves.along_level_min, terms=chance.terms)
            return taker, self._site_step(visit, "set-up", after=[taker], chance=along, needs={})
        else:
            taker = self._site_step(visit, "move in", after=after, chance=chance, needs=self._needs(visit))
        return taker, taker

    def leave(self, visit: Visit, taker: str) -> list[Give]:
        """What comes free when the gang leaves."""
        return [Give(pool, quantity, taker) for pool, quantity in self._needs(visit).items()]

    def reposition(self, visit: Visit, number: int, *, item: int, previous: str) -> str:
        """Crane to its next position on the front, after so many panels."""
        chance = Chance(item, terms=(Term(self.crane.reposition_min, "crane reposition"),))
        return self._site_step(visit, f"move after panel {number}", after=[previous], chance=chance, needs={})

    def set_panel(
        self,
        visit: Visit,
        panel: Panel,
        *,
        name: str,
        after: list[str],
        gives: list[Give],
        purpose: str = "setting a panel",
        factor: float = 1.0,
        mean_factor: float = 1.0,
        skip: str | None = None,
    ) -> str:
        """One lift. factor : on its minutes; mean_factor : of a further factor that another law draws. [-]"""
        family, levels, front = self.family(panel), self.sequence.levels, visit.front
        learned = learned_factor(self.trade.learning, front, levels)
        factor *= float(levels.difficulty[front.spot]) * learned
        chance = Chance(panel.item, factor, 0.0, (Term(family.set_min, purpose),), self.name)
        height_m = float(levels.height_m[front.floor])
        limits = self.draft.closures.window(self.trade.calendar, limits=family.limits, height_m=height_m)
        return self.draft.add(
            Step(
                name,
                work=round(self.draft.expected(chance) * mean_factor),
                after=after,
                gives=gives,
                window=limits,
                mode="start",
                place=front.where,
                skip=skip or visit.skip,
                planned=not visit.remedy,
                tags=self.tags(visit, LIFT),
            ),
            chance=chance,
        )

    def tags(self, visit: Visit, kind: str = "work") -> Tags:
        """What the steps of a visit belong to."""
        return Tags(trade=visit.row, level=visit.front.level, zone=visit.front.zone, kind=kind)

    def _needs(self, visit: Visit) -> dict[str, int]:
        """Strips first: whoever waits for air to work in is not short of a gang."""
        zone, settings = visit.front.zone, self.sequence.settings
        if not visit.crane:
            return {strip_pool(zone): whole_strip(settings), **self.trade.needs}
        strips = kept_clear(zone, settings, zones=self.sequence.levels.zones)
        return {**strips, **self.trade.needs, self.crane.resource: 1}

    def _takes_hoist(self, visit: Visit) -> bool:
        """Cranes begin on the lowest level; only for a remedy does one come down to it."""
        comes_from_elsewhere = visit.front.floor > 0 or visit.remedy
        return visit.by_hoist and bool(self.crane.level_move_needs) and comes_from_elsewhere

    def _to_level(self, visit: Visit, after: list[str]) -> str:
        """Gang, crane and strips, and what a move between levels needs, which is given back at its end."""
        name, kept, extra = f"{visit.name}: move in", self._needs(visit), self.crane.level_move_needs
        needs = {pool: kept.get(pool, 0) + extra.get(pool, 0) for pool in [*kept, *extra]}
        back = [Give(pool, quantity, name) for pool, quantity in extra.items() if pool in kept]
        return self._site_step(
            visit, "move in", after=after, chance=None, needs=needs, keeps=kept, gives=back
        )

    def _site_step(
        self,
        visit: Visit,
        what: str,
        *,
        after: list[str],
        chance: Chance | None,
        needs: dict[str, int],
        keeps: dict[str, int] | None = None,
        gives: list[Give] | None = None,
    ) -> str:
        """Work in the hours of the trade, in any weather; what it takes it keeps, unless said otherwise."""
        step = Step(
            f"{visit.name}: {what}",
            work=self.draft.expected(chance) if chance else 0,
            after=after,
            needs=needs,
            keeps=list(needs if keeps is None else keeps),
            gives=gives or [],
            window=self.draft.closures.window(self.trade.calendar, limits=(), height_m=0.0),
            mode="work",
            rank=visit.rank if needs else 0,
            place=(landing(visit.front) if keeps is not None else visit.front.where) if needs else None,
            skip=visit.skip,
            planned=not visit.remedy,
            tags=self.tags(visit, CRANE_MOVE),
        )
        return self.draft.add(step, chance=chance)
