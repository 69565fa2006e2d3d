"""What every visit of a panel gang to a front has in common: moving in, setting panels, leaving."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, field

from towerpace.plan.arrays import NONE
from towerpace.plan.columns import NOTHING, Handed, Units, Words
from towerpace.plan.lists import START, WORK
from towerpace.plan.site.drafting import Draft, DrawnMinutes, Uncertain
from towerpace.plan.site.fronts import Front, StepKey, strip_pool
from towerpace.plan.site.logistics import CraneMoves, kept_clear, landing, whole_strip
from towerpace.plan.site.numbers import Numbers, Recipe
from towerpace.plan.site.sequence import Precedence
from towerpace.scenario.schema import Crane, Family, PanelTrade, Settings
from towerpace.scenario.schema.setting import FOUND_UNPACKING
from towerpace.scenario.spreads import Spread
from towerpace.units import Floats

CRANE_MOVE, LIFT = "crane move", "lift"
MOVE_IN = "move in"


@dataclass(frozen=True, slots=True)
class Panel:
    """One panel of the tower: its number in planned order from 0, its family, and what people call it."""

    item: int
    family: str
    name: Words


@dataclass(frozen=True, slots=True)
class Visit:
    """Gang and crane on a front, from moving in until they leave.

    name : what its steps are named after. row : whose row of the ledger its minutes belong to.
    set_up, item : purpose under which its set-up is drawn, and the place there.
    key : under which others wait for its first step. panel : number of the only panel that it is about.
    flag : under which it does not take place. remedy : whether no plan counts on it.
    crane : whether a floor crane comes. by_hoist : whether its way between levels takes what that needs.
    """

    front: Front
    name: Words
    row: str
    rank: int
    set_up: str
    item: int
    flag: int = NONE
    remedy: bool = False
    crane: bool = True
    by_hoist: bool = True
    panel: int = NONE
    key: StepKey | None = None


@dataclass(frozen=True, slots=True)
class HowSet:
    """How a panel is set: the purpose it is drawn under, whether on a return visit, whether into a gap."""

    purpose: str = "setting a panel"
    on_return: bool = False
    gap: bool = False


def crane_of(settings: Settings) -> Crane:
    """The floor crane of the scenario."""
    assert settings.crane is not None, "the scenario is checked when it is loaded"
    return settings.crane


@dataclass
class Lifting:
    """Writes the visits of one panel trade into a draft."""

    draft: Draft
    name: str
    trade: PanelTrade
    order: Precedence
    _minutes: dict[object, DrawnMinutes] = field(default_factory=dict, init=False)
    _chances: dict[tuple[str, tuple[str, ...]], bool] = field(default_factory=dict, init=False)
    _needs_of: dict[tuple[str, bool], Units] = field(default_factory=dict, init=False)
    _moving: dict[str, tuple[Units, Units]] = field(default_factory=dict, init=False)

    @property
    def crane(self) -> Crane:
        """The floor crane of the scenario."""
        return crane_of(self.draft.settings)

    def family(self, panel: Panel) -> Family:
        """The family of a panel."""
        return self.draft.settings.family[panel.family]

    def may(self, panel: Panel, *chances: str) -> bool:
        """Whether any of some chances of a panel's family is above 0."""
        key = (panel.family, chances)
        if key not in self._chances:
            self._chances[key] = self.draft.ask(
                lambda n: n.settings.family[panel.family].chance(*chances) > 0
            )
        return self._chances[key]

    def may_be_unfit(self, panel: Panel) -> bool:
        """Whether a panel may be found bad when it is unpacked."""
        return self.may(panel, *FOUND_UNPACKING)

    def move_in(self, visit: Visit, after: Sequence[int | StepKey]) -> tuple[int, int]:
        """Take everything and set up; the step that took it, and the one before the first panel."""
        if visit.crane and self._takes_hoist(visit):
            taker, set_up = self._to_level(visit, after), self._set_up(visit, along=_along_level)
            return taker, self._site_step(visit, "set-up", set_up, after=[taker])
        alone = self._set_up(visit) if visit.crane else None
        taker = self._site_step(visit, MOVE_IN, alone, after=after, needs=self._needs(visit), key=visit.key)
        return taker, taker

    def leave(self, visit: Visit, taker: int) -> list[Handed]:
        """What comes free when the gang leaves."""
        return [Handed(self._needs(visit), taker)]

    def reposition(
        self, visit: Visit, *, item: int, after: list[int], number: int = 0, again: bool = False
    ) -> int:
        """Crane to its next position on the front, after so many panels, or to a hole again."""
        purpose = "crane reposition on return" if again else "crane reposition"
        minutes = self._once(
            purpose,
            lambda: DrawnMinutes((Uncertain(lambda n: crane_of(n.settings).reposition_min, purpose),)),
        )
        what: Words = "move" if again else ("move after panel ", number)
        return self._site_step(visit, what, minutes, item=item, after=after)

    def set_panel(
        self,
        visit: Visit,
        panel: Panel,
        *,
        name: Words,
        after: list[int],
        gives: list[Handed],
        how: HowSet,
        flag: int = NONE,
        key: StepKey | None = None,
    ) -> int:
        """One lift."""
        front, height_m = visit.front, float(self.order.levels.height_m[visit.front.floor])
        recipe = (panel.family, how)
        minutes = self._minutes.get(recipe)
        if minutes is None:
            minutes = self._minutes[recipe] = self._set_minutes(panel.family, how)
        limits = self.family(panel).limits
        return self.draft.add(
            name,
            key=key,
            after=after,
            gives=gives,
            window=self.draft.closures.window(
                self.trade.calendar, limits=limits, height_m=height_m, zone=front.zone
            ),
            mode=START,
            stands=front.where,
            flag=visit.flag if flag == NONE else flag,
            planned=not visit.remedy,
            tags=self.draft.tags(visit.row, front, kind=LIFT),
            panel=panel.item,
            minutes=minutes,
            item=panel.item,
            place=front.number,
        )

    def _once(self, key: object, make: Callable[[], DrawnMinutes]) -> DrawnMinutes:
        """The recipe of one kind of step, made when first asked for."""
        if key not in self._minutes:
            self._minutes[key] = make()
        return self._minutes[key]

    def _set_minutes(self, family: str, how: HowSet) -> DrawnMinutes:
        def factor(numbers: Numbers) -> Floats:
            trade = numbers.settings.trade[self.name]
            assert isinstance(trade, PanelTrade), "the kind of a trade decides about steps"
            again = float(trade.return_set_factor) if how.on_return else 1.0
            return again * (numbers.difficulty * numbers.learned(self.name))

        term = Uncertain(lambda n: n.settings.family[family].set_min, how.purpose)
        slower = _mean_gap_factor if how.gap else None
        return DrawnMinutes((term,), factor=factor, pace=self.name, planned_factor=slower)

    def _set_up(self, visit: Visit, along: Recipe | None = None) -> DrawnMinutes:
        def minutes() -> DrawnMinutes:
            term = Uncertain(lambda n: crane_of(n.settings).set_up_min, visit.set_up)
            return DrawnMinutes((term,)) if along is None else DrawnMinutes((term,), fixed=along)

        return self._once((visit.set_up, along), minutes)

    def _needs(self, visit: Visit) -> Units:
        """Strips first: whoever waits for air to work in is not short of a gang."""
        key = (visit.front.zone, visit.crane)
        needs = self._needs_of.get(key)
        if needs is None:
            needs = self._needs_of[key] = self.draft.units(self._needs_in(*key))
        return needs

    def _needs_in(self, zone: str, crane: bool) -> dict[str, int]:
        settings = self.draft.settings
        if not crane:
            return {strip_pool(zone): whole_strip(settings), **self.trade.needs}
        strips = kept_clear(zone, settings, zones=self.order.levels.zones)
        return {**strips, **self.trade.needs, self.crane.resource: 1}

    def _takes_hoist(self, visit: Visit) -> bool:
        """Cranes begin on the lowest level; only for a remedy does one come down to it."""
        comes_from_elsewhere = visit.front.floor > 0 or visit.remedy
        return visit.by_hoist and bool(self.crane.level_move_needs) and comes_from_elsewhere

    def _to_level(self, visit: Visit, after: Sequence[int | StepKey]) -> int:
        """Gang, crane and strips, and what a move between levels needs, which is given back at its end."""
        kept = self._needs(visit)
        needs, back = self._moving_needs(visit.front.zone)
        gives = [Handed(back, self.draft.next_step)] if back.pools else []
        return self._site_step(
            visit, MOVE_IN, None, after=after, needs=needs, keeps=kept.pools, gives=gives, key=visit.key
        )

    def _moving_needs(self, zone: str) -> tuple[Units, Units]:
        """What a move between levels takes, and what of it beyond what is kept comes free at its end."""
        if zone not in self._moving:
            kept, extra = self._needs_in(zone, crane=True), self.crane.level_move_needs
            needs = {pool: kept.get(pool, 0) + extra.get(pool, 0) for pool in [*kept, *extra]}
            back = {pool: quantity for pool, quantity in extra.items() if pool in kept}
            self._moving[zone] = self.draft.units(needs), self.draft.units(back)
        return self._moving[zone]

    def _site_step(
        self,
        visit: Visit,
        what: Words,
        minutes: DrawnMinutes | None,
        *,
        after: Sequence[int | StepKey],
        needs: Units = NOTHING,
        item: int | None = None,
        keeps: Collection[int] | None = None,
        gives: Sequence[Handed] = (),
        key: StepKey | None = None,
    ) -> int:
        """Work in the hours of the trade, in any weather; what it takes it keeps, unless said otherwise."""
        front, stands = visit.front, None
        if needs.pools:
            stands = front.where if keeps is None else landing(front)
        return self.draft.add(
            (visit.name, ": ", what),
            key=key,
            after=after,
            needs=needs,
            keeps=needs.pools if keeps is None else keeps,
            gives=gives,
            window=self.draft.closures.window(self.trade.calendar, limits=(), height_m=0.0),
            mode=WORK,
            rank=visit.rank if needs.pools else 0,
            stands=stands,
            flag=visit.flag,
            planned=not visit.remedy,
            tags=self.draft.tags(visit.row, front, kind=CRANE_MOVE),
            panel=visit.panel,
            minutes=minutes,
            item=visit.item if item is None else item,
        )


def _along_level(numbers: Numbers) -> float:
    return CraneMoves(crane_of(numbers.settings), numbers.fronts).along_level_min


def gap_factor(numbers: Numbers) -> Spread:
    """Setting time of a leave-out over the usual one. [-]"""
    assert numbers.settings.leave_outs is not None, "asked for only where panels are left out"
    return numbers.settings.leave_outs.set_factor


def _mean_gap_factor(numbers: Numbers) -> float:
    return gap_factor(numbers).mean()
