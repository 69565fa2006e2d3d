"""What every visit of a panel gang to a front has in common: moving in, setting panels, leaving."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from towerpace.plan.parts import Give, Step, Tags
from towerpace.plan.site.drafting import Draft, Minutes, Uncertain
from towerpace.plan.site.fronts import Front, strip_pool
from towerpace.plan.site.logistics import CraneMoves, kept_clear, landing, whole_strip
from towerpace.plan.site.numbers import Numbers, Recipe
from towerpace.plan.site.sequence import Precedence
from towerpace.scenario.schema import Crane, Family, PanelTrade, Settings
from towerpace.scenario.schema.setting import FOUND_UNPACKING
from towerpace.scenario.spreads import Spread
from towerpace.units import Floats

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
    _minutes: dict[object, Minutes] = field(default_factory=dict, init=False)
    _chances: dict[tuple[str, tuple[str, ...]], bool] = field(default_factory=dict, init=False)
    _needs_of: dict[tuple[str, bool], dict[str, int]] = field(default_factory=dict, init=False)
    _tags: dict[tuple[str, int, str], Tags] = field(default_factory=dict, init=False)

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

    def move_in(self, visit: Visit, after: list[str]) -> tuple[str, str]:
        """Take everything and set up; the step that took it, and the one before the first panel."""
        if not visit.crane:
            taker = self._site_step(visit, "move in", None, after=after, needs=self._needs(visit))
        elif self._takes_hoist(visit):
            taker, set_up = self._to_level(visit, after), self._set_up(visit, along=_along_level)
            return taker, self._site_step(visit, "set-up", set_up, after=[taker], needs={})
        else:
            set_up = self._set_up(visit)
            taker = self._site_step(visit, "move in", set_up, after=after, needs=self._needs(visit))
        return taker, taker

    def leave(self, visit: Visit, taker: str) -> list[Give]:
        """What comes free when the gang leaves."""
        return [Give(pool, quantity, taker) for pool, quantity in self._needs(visit).items()]

    def reposition(self, visit: Visit, number: int, *, item: int, previous: str) -> str:
        """Crane to its next position on the front, after so many panels."""
        minutes = self._once(
            "reposition",
            lambda: Minutes((Uncertain(lambda n: crane_of(n.settings).reposition_min, "crane reposition"),)),
        )
        what = f"move after panel {number}"
        return self._site_step(visit, what, minutes, item=item, after=[previous], needs={})

    def set_panel(
        self,
        visit: Visit,
        panel: Panel,
        *,
        name: str,
        after: list[str],
        gives: list[Give],
        how: HowSet,
        skip: str | None = None,
    ) -> str:
        """One lift."""
        front, height_m = visit.front, float(self.order.levels.height_m[visit.front.floor])
        limits = self.family(panel).limits
        step = Step(
            name,
            after=after,
            gives=gives,
            window=self.draft.closures.window(self.trade.calendar, limits=limits, height_m=height_m),
            mode="start",
            place=front.where,
            skip=skip or visit.skip,
            planned=not visit.remedy,
            tags=self.tags(visit, LIFT),
        )
        key = (panel.family, how)
        minutes = self._minutes.get(key) or self._once(key, lambda: self._set_minutes(panel.family, how))
        return self.draft.add(step, minutes=minutes, item=panel.item, place=front.number)

    def tags(self, visit: Visit, kind: str = "work") -> Tags:
        """What the steps of a visit belong to."""
        front, key = visit.front, (visit.row, visit.front.number, kind)
        tags = self._tags.get(key)
        if tags is None:
            tags = self._tags[key] = Tags(trade=visit.row, level=front.level, zone=front.zone, kind=kind)
        return tags

    def _once(self, key: object, make: Callable[[], Minutes]) -> Minutes:
        """The recipe of one kind of step, made when first asked for."""
        if key not in self._minutes:
            self._minutes[key] = make()
        return self._minutes[key]

    def _set_minutes(self, family: str, how: HowSet) -> Minutes:
        def factor(numbers: Numbers) -> Floats:
            trade = numbers.settings.trade[self.name]
            assert isinstance(trade, PanelTrade), "the kind of a trade decides about steps"
            again = float(trade.return_set_factor) if how.on_return else 1.0
            return again * (numbers.difficulty * numbers.learned(self.name))

        term = Uncertain(lambda n: n.settings.family[family].set_min, how.purpose)
        slower = _mean_gap_factor if how.gap else None
        return Minutes((term,), factor=factor, pace=self.name, planned_factor=slower)

    def _set_up(self, visit: Visit, along: Recipe | None = None) -> Minutes:
        def minutes() -> Minutes:
            term = Uncertain(lambda n: crane_of(n.settings).set_up_min, visit.set_up)
            return Minutes((term,)) if along is None else Minutes((term,), fixed=along)

        return self._once((visit.set_up, along), minutes)

    def _needs(self, visit: Visit) -> dict[str, int]:
        """Strips first: whoever waits for air to work in is not short of a gang."""
        key = (visit.front.zone, visit.crane)
        if key not in self._needs_of:
            self._needs_of[key] = self._needs_in(*key)
        return self._needs_of[key]

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

    def _to_level(self, visit: Visit, after: list[str]) -> str:
        """Gang, crane and strips, and what a move between levels needs, which is given back at its end."""
        name, kept, extra = f"{visit.name}: move in", self._needs(visit), self.crane.level_move_needs
        needs = {pool: kept.get(pool, 0) + extra.get(pool, 0) for pool in [*kept, *extra]}
        back = [Give(pool, quantity, name) for pool, quantity in extra.items() if pool in kept]
        return self._site_step(visit, "move in", None, after=after, needs=needs, keeps=kept, gives=back)

    def _site_step(
        self,
        visit: Visit,
        what: str,
        minutes: Minutes | None,
        *,
        after: list[str],
        needs: dict[str, int],
        item: int | None = None,
        keeps: dict[str, int] | None = None,
        gives: Sequence[Give] = (),
    ) -> str:
        """Work in the hours of the trade, in any weather; what it takes it keeps, unless said otherwise."""
        step = Step(
            f"{visit.name}: {what}",
            after=after,
            needs=needs,
            keeps=needs if keeps is None else keeps,
            gives=gives,
            window=self.draft.closures.window(self.trade.calendar, limits=(), height_m=0.0),
            mode="work",
            rank=visit.rank if needs else 0,
            place=(landing(visit.front) if keeps is not None else visit.front.where) if needs else None,
            skip=visit.skip,
            planned=not visit.remedy,
            tags=self.tags(visit, CRANE_MOVE),
        )
        return self.draft.add(step, minutes=minutes, item=visit.item if item is None else item)


def _along_level(numbers: Numbers) -> float:
    return CraneMoves(crane_of(numbers.settings), numbers.fronts).along_level_min


def gap_factor(numbers: Numbers) -> Spread:
    """Setting time of a leave-out over the usual one. [-]"""
    assert numbers.settings.leave_outs is not None, "asked for only where panels are left out"
    return numbers.settings.leave_outs.set_factor


def _mean_gap_factor(numbers: Numbers) -> float:
    return gap_factor(numbers).mean()
