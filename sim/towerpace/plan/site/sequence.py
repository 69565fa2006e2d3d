"""What a front of a trade must wait for: conditions of the scenario as names of earlier steps."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from towerpace.plan.laws import Term
from towerpace.plan.parts import Step, Tags
from towerpace.plan.site.drafting import Chance, Draft
from towerpace.plan.site.fronts import Front, closing_in_name, handover_name
from towerpace.scenario.levels import Levels
from towerpace.scenario.schema import After, PanelTrade, Settings, Trade


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

    def last_step(self, name: str, front: Front) -> str:
        """The step at whose end a trade is done with a front."""
        trade = self.settings.trade[name]
        panels = sum(n for _, n in self.panels_on(trade, front)) if isinstance(trade, PanelTrade) else 0
        return f"{name} {front.where}: panel {panels}" if panels else f"{name} {front.where}"

    def waits(self, trade: Trade, front: Front, *, draft: Draft, name: str) -> list[str]:
        """Steps that must end before the front may start; drying times become steps of the draft."""
        found: list[str] = []
        for k, condition in enumerate(trade.after):
            sources = list(self._sources(condition, front))
            if sources and condition.lag_h.mean() > 0:
                sources = [self._lag(condition, k, front, sources, draft=draft, name=name)]
            found += sources
        return list(dict.fromkeys(found))

    def _sources(self, condition: After, front: Front) -> Iterator[str]:
        floor = front.floor + condition.levels_up
        if not 0 <= floor < len(self.levels.levels):
            return
        level = self.levels.levels[floor]
        if condition.on == "handover":
            yield handover_name(level)
        elif condition.on == "closing_in":
            yield closing_in_name(level)
        else:
            zones = self.levels.zones if condition.zones == "all" else (front.zone,)
            for zone in zones:
                yield self.last_step(condition.on, self.front_at(floor, zone))

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
