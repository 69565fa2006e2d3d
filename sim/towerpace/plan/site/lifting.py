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
from towerpace.plan.site.methods import lift_minutes, method_of, set_up_minutes, shift_minutes
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
    method : way of lifting that comes in place of a floor crane.
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
    method: str | None = None

    @property
    def by_crane(self) -> bool:
        """Whether a floor crane comes."""
        return self.crane and self.method is None


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
    _needs_of: dict[object, Units] = field(default_factory=dict, init=False)
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
        if visit.by_crane and self._takes_hoist(visit):
            taker, set_up = self._to_level(visit, after), self._set_up(visit, along=_along_level)
            return taker, self._site_step(visit, "set-up", set_up, after=[taker])
        alone = self._set_up(visit) if visit.by_crane else self._set_up_of_method(visit)
        taker = self._site_step(visit, MOVE_IN, alone, after=after, needs=self._needs(visit), key=visit.key)
        return taker, taker

    def leave(self, visit: Visit, taker: int) -> list[Handed]:
        """What comes free when the gang leaves."""
        return [Handed(self._needs(visit), taker)]

    def panels_per_position(self, visit: Visit) -> int | None:
        """How many panels are set from one position; None where all are within reach."""
        if visit.method is not None:
            return method_of(self.draft.settings, visit.method).panels_per_position
        return self.crane.panels_per_position

    def reposition(
        self,
        visit: Visit,
        *,
        item: int,
        after: Sequence[int | StepKey],
        number: int = 0,
        again: bool = False,
    ) -> int:
        """Crane to its next position on the front, after so many panels, or to a hole again."""
        purpose = "crane reposition on return" if again else "crane reposition"
        if visit.method is None:
            minutes = self._once(
                purpose,
                lambda: DrawnMinutes((Uncertain(lambda n: crane_of(n.settings).reposition_min, purpose),)),
            )
        else:
            method = visit.method
            minutes = self._once(("shifting", method), lambda: shift_minutes(method))
        what: Words = "move" if again else ("move after panel ", number)
        return self._site_step(visit, what, minutes, item=item, after=after)

    def set_panel(
        self,
        visit: Visit,
        panel: Panel,
        *,
        name: Words,
        after: Sequence[int | StepKey],
        gives: list[Handed],
        how: HowSet,
        flag: int = NONE,
        key: StepKey | None = None,
    ) -> int:
        """One lift."""
        front, height_m = visit.front, float(self.order.levels.height_m[visit.front.floor])
        recipe = (panel.family, how, visit.method)
        minutes = self._minutes.get(recipe)
        if minutes is None:
            minutes = self._minutes[recipe] = self._set_minutes(panel.family, how, visit.method)
        calendar, limits, needs = self._terms(visit, panel)
        return self.draft.add(
            name,
            key=key,
            after=after,
            needs=needs,
            gives=gives,
            window=self.draft.closures.window(calendar, limits=limits, height_m=height_m, zone=front.zone),
            mode=START,
            rank=visit.rank if needs.pools else 0,
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

    def _terms(self, visit: Visit, panel: Panel) -> tuple[str, tuple[str, ...], Units]:
        """Hours, limits and units of a lift: those of how it is lifted, where that says any."""
        calendar, limits, needs = self.trade.calendar, self.family(panel).limits, NOTHING
        if visit.method is not None:
            terms = method_of(self.draft.settings, visit.method)
            calendar = calendar if terms.calendar is None else terms.calendar
            limits = limits if terms.limits is None else terms.limits
            needs = self.draft.units(terms.needs) if terms.kept == "panel" else NOTHING
        return calendar, limits, needs

    def _set_minutes(self, family: str, how: HowSet, method: str | None) -> DrawnMinutes:
        def factor(numbers: Numbers) -> Floats:
            trade = numbers.settings.trade[self.name]
            assert isinstance(trade, PanelTrade), "the kind of a trade decides about steps"
            again = float(trade.return_set_factor) if how.on_return else 1.0
            return again * (numbers.difficulty * numbers.learned(self.name))

        if method is not None:
            return lift_minutes(
                family=family, method=method, purpose=how.purpose, trade=self.name, again=factor
            )
        term = Uncertain(lambda n: n.settings.family[family].set_min, how.purpose)
        slower = _mean_gap_factor if how.gap else None
        return DrawnMinutes((term,), factor=factor, pace=self.name, planned_factor=slower)

    def _set_up(self, visit: Visit, along: Recipe | None = None) -> DrawnMinutes:
        def minutes() -> DrawnMinutes:
            term = Uncertain(lambda n: crane_of(n.settings).set_up_min, visit.set_up)
            return DrawnMinutes((term,)) if along is None else DrawnMinutes((term,), fixed=along)

        return self._once((visit.set_up, along), minutes)

    def _set_up_of_method(self, visit: Visit) -> DrawnMinutes | None:
        """How long setting up takes; none by the gang alone, and where it hangs over the strip already."""
        if visit.method is None or not self._brings(visit):
            return None
        method, again = visit.method, visit.remedy
        return self._once(("set-up", method, again), lambda: set_up_minutes(method, again=again))

    def _brings(self, visit: Visit) -> bool:
        """Whether a way of lifting is set up for this visit: not if it hangs over the strip already."""
        assert visit.method is not None, "asked only of what comes in place of a floor crane"
        return visit.remedy or method_of(self.draft.settings, visit.method).kept != "strip"

    def _needs(self, visit: Visit) -> Units:
        """Strips first: whoever waits for air to work in is not short of a gang."""
        brings = visit.method is not None and self._brings(visit)
        key = (visit.front.zone, visit.crane, visit.method, brings)
        needs = self._needs_of.get(key)
        if needs is None:
            needs = self._needs_of[key] = self.draft.units(self._all_needs(visit, brings=brings))
        return needs

    def _all_needs(self, visit: Visit, *, brings: bool) -> dict[str, int]:
        """Everything that a visit takes, from when it moves in until it leaves."""
        zone, method, settings = visit.front.zone, visit.method, self.draft.settings
        if method is None:
            return self._needs_in(zone, crane=visit.crane)
        terms = method_of(settings, method)
        beside = not terms.inside and settings.crane is not None
        strips = kept_clear(zone, settings, zones=self.order.levels.zones) if beside else {}
        own = terms.needs if brings and terms.kept != "panel" else {}
        return {**(strips or {strip_pool(zone): whole_strip(settings)}), **self.trade.needs, **own}

    def _needs_in(self, zone: str, *, crane: bool) -> dict[str, int]:
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
