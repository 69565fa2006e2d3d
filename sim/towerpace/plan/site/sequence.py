"""What a front of a trade must wait for: conditions of the scenario as names of earlier steps."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from towerpace.plan.laws import Term
from towerpace.plan.parts import Step, Tags
from towerpace.plan.site.drafting import Chance, Draft
from towerpace.plan.site.fronts import (
    Front,
    activity_name,
    closing_in_name,
    handover_name,
    holes_closed_name,
    leave_outs_name,
    water_test_name,
)
from towerpace.plan.site.risks import add_delays
from towerpace.scenario.levels import Levels
from towerpace.scenario.once import LEAVE_OUTS, MOCK_UP, WATER_TEST
from towerpace.scenario.schema import After, Condition, PanelTrade, Settings, Trade
from towerpace.scenario.schema.setting import LEAVING_HOLES


@dataclass(frozen=True)
class Sequence:
    """Names of the steps that end the fronts of every trade."""

    settings: Settings
    levels: Levels
    fronts: tuple[Front, ...]

    def front_at(self, floor: int, zone: str) -> Front:
        """Front by floor (0 the lowest) and zone."""
        return self.fronts[floor * len(self.levels.zones) + self.levels.zones.index(zone)]

    def panels_on(self, trade: PanelTrade, front: Front) -> list[tuple[str, int]]:
        """Families and panel counts of a front, in the order in which they are set."""
        families = ((name, self.settings.family[name].column) for name in trade.families)
        return [(name, int(self.levels.counts[column][front.spot])) for name, column in families]

    def left_out(self, front: Front) -> int:
        """How many panels of a front, its last ones, are left out."""
        terms = self.settings.leave_outs
        return 0 if terms is None else int(self.levels.counts[terms.column][front.spot])

    def set_now(self, trade: PanelTrade, front: Front) -> int:
        """How many panels of a front are set while the gang is there."""
        panels = sum(n for _, n in self.panels_on(trade, front))
        return panels - self.left_out(front)

    def holes_on(self, trade: PanelTrade, front: Front) -> bool:
        """Whether the gang may leave holes on a front."""
        left = self.set_now(trade, front)
        for family, n in self.panels_on(trade, front):
            if min(n, left) > 0 and self.settings.family[family].chance(*LEAVING_HOLES) > 0:
                return True
            left -= n
        return False

    def closed_step(self, name: str, front: Front) -> str:
        """The step at whose end a trade is done with a front and no hole is left on it."""
        trade = self.settings.trade[name]
        if isinstance(trade, PanelTrade) and self.holes_on(trade, front):
            return holes_closed_name(name, front)
        return self.last_step(name, front)

    def weathertight_step(self, name: str, front: Front) -> str:
        """The step at whose end a front no longer keeps its level open: holes do unless they are sheeted."""
        trade = self.settings.trade[name]
        sheeted = isinstance(trade, PanelTrade) and trade.hole == "infill"
        return self.last_step(name, front) if sheeted else self.closed_step(name, front)

    def last_step(self, name: str, front: Front) -> str:
        """The step at whose end a trade is done with a front, holes or not as its setting says."""
        trade = self.settings.trade[name]
        if not isinstance(trade, PanelTrade) or not self.set_now(trade, front):
            return f"{name} {front.where}"
        if trade.hole == "hold" and self.holes_on(trade, front):
            return holes_closed_name(name, front)
        return f"{name} {front.where}: panel {self.set_now(trade, front)}"

    def waits(self, trade: Trade, front: Front, *, draft: Draft, name: str) -> list[str]:
        """Steps that must end before a front may start; delays of a trade's first front are among them."""
        found = self.waits_for(trade.after, front, draft=draft, name=name)
        if front.number == 0:
            found += add_delays(draft, self.settings, on=name, after=list(found))
        return found

    def waits_for(self, conditions: Iterable[After], front: Front, *, draft: Draft, name: str) -> list[str]:
        """Steps that must end before something on a front; drying times become steps of the draft."""
        found: list[str] = []
        for k, condition in enumerate(conditions):
            sources = list(self._sources(condition, front))
            if sources and condition.lag_h.mean() > 0:
                sources = [self._lag(condition, k, front, sources, draft=draft, name=name)]
            found += sources
        return list(dict.fromkeys(found))

    def happens_once(self, on: str) -> bool:
        """Whether a condition names what belongs to no level."""
        return on == MOCK_UP or on in self.settings.activity

    def tested(self, floor: int) -> bool:
        """Whether the fronts of a floor are water tested."""
        test = self.settings.water_test
        return test is not None and floor < test.levels

    def sources_at(self, condition: Condition) -> Iterator[str]:
        """Steps that a condition of something that happens once names: on one level, or on all."""
        if self.happens_once(condition.on):
            yield activity_name(condition.on)
            return
        levels = self.levels.levels if condition.level == "all" else [condition.level]
        for level in levels:
            assert isinstance(level, int), "the scenario is checked when it is loaded"
            yield from self._on_floor(condition.on, self.levels.index(level), zones=self.levels.zones)

    def _sources(self, condition: After, front: Front) -> Iterator[str]:
        if self.happens_once(condition.on):
            yield activity_name(condition.on)
            return
        floor = front.floor + condition.levels_up
        if not 0 <= floor < len(self.levels.levels):
            return
        zones = self.levels.zones if condition.zones == "all" else (front.zone,)
        yield from self._on_floor(condition.on, floor, zones=zones)

    def _on_floor(self, on: str, floor: int, *, zones: tuple[str, ...]) -> Iterator[str]:
        level = self.levels.levels[floor]
        if on == "handover":
            yield handover_name(level)
        elif on == "closing_in":
            yield closing_in_name(level)
        elif on == WATER_TEST:
            if self.tested(floor):
                yield from (water_test_name(self.front_at(floor, zone)) for zone in zones)
        elif on == LEAVE_OUTS:
            fronts = (self.front_at(floor, zone) for zone in zones)
            yield from (leave_outs_name(front) for front in fronts if self.left_out(front))
        else:
            yield from (self.last_step(on, self.front_at(floor, zone)) for zone in zones)

    def _lag(
        self, condition: After, k: int, front: Front, sources: list[str], *, draft: Draft, name: str
    ) -> str:
        """A step that only lets time pass, drawn per front."""
        term = Term(condition.lag_h, f"lag {k} of {name}")
        chance = Chance(item=front.number, factor=60.0, terms=(term,))
        step = Step(
            f"{name} {front.where}: wait after {condition.on}" + (f" {k}" if k else ""),
            work=draft.expected(chance),
            after=sources,
            tags=Tags(trade=name, level=front.level, zone=front.zone, kind="curing"),
        )
        return draft.add(step, chance=chance)
