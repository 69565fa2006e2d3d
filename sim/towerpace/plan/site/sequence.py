"""What a front of a trade must wait for: conditions of the scenario as names of earlier steps."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import partial

from towerpace.plan.site.bands import Band, done_at
from towerpace.plan.site.drafting import Draft, DrawnMinutes, Uncertain
from towerpace.plan.site.fronts import (
    CURING,
    Front,
    StepKey,
    activity_done,
    closing_in_step,
    front_done,
    handover_step,
    holes_closed_step,
    leave_outs_step,
    water_test_step,
)
from towerpace.plan.site.numbers import Numbers
from towerpace.plan.site.reading import Reading
from towerpace.plan.site.risks import add_delays
from towerpace.scenario.levels import Levels
from towerpace.scenario.lifted import method_on
from towerpace.scenario.once import LEAVE_OUTS, MOCK_UP, WATER_TEST
from towerpace.scenario.schema import After, Condition, PanelTrade, Settings
from towerpace.scenario.schema.setting import LEAVING_HOLES
from towerpace.units import HOUR_MIN

Conditions = Callable[[Settings], Sequence[After]]  # where they stand in a scenario
Lagging = Callable[[Settings], Sequence[After | Condition]]


@dataclass
class Precedence:
    """The steps that end the fronts of every trade, and what must have ended before others begin."""

    reading: Reading[Numbers]
    levels: Levels
    fronts: tuple[Front, ...]
    _lags: dict[tuple[str, int], DrawnMinutes | None] = field(default_factory=dict, init=False)
    _leaving_holes: dict[str, bool] = field(default_factory=dict, init=False)
    _panels: dict[tuple[tuple[str, ...], int], list[tuple[str, int]]] = field(
        default_factory=dict, init=False
    )

    @property
    def settings(self) -> Settings:
        """The scenario; what is read of it decides which steps there are."""
        return self.reading.settings

    def front_at(self, floor: int, zone: str) -> Front:
        """Front by floor (0 the lowest) and zone."""
        return self.fronts[floor * len(self.levels.zones) + self.levels.zones.index(zone)]

    def panels_on(self, trade: PanelTrade, front: Front) -> list[tuple[str, int]]:
        """Families and panel counts of a front, in the order in which they are set."""
        key = (trade.families, front.number)
        if key not in self._panels:
            families = ((name, self.settings.family[name].column) for name in trade.families)
            self._panels[key] = [(name, int(self.levels.counts[c][front.spot])) for name, c in families]
        return self._panels[key]

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
            if min(n, left) > 0 and self._leaves_holes(family):
                return True
            left -= n
        return False

    def _leaves_holes(self, family: str) -> bool:
        if family not in self._leaving_holes:
            self._leaving_holes[family] = self.reading.ask(
                lambda n: n.settings.family[family].chance(*LEAVING_HOLES) > 0
            )
        return self._leaving_holes[family]

    def closed_step(self, name: str, front: Front) -> StepKey:
        """The step at whose end a trade is done with a front and no hole is left on it."""
        trade = self.settings.trade[name]
        if isinstance(trade, PanelTrade) and self.holes_on(trade, front):
            return holes_closed_step(name, front)
        return self.last_step(name, front)

    def weathertight_step(self, name: str, front: Front) -> StepKey:
        """The step at whose end a front no longer keeps its level open: holes do unless they are sheeted."""
        trade = self.settings.trade[name]
        sheeted = isinstance(trade, PanelTrade) and trade.hole == "infill"
        return self.last_step(name, front) if sheeted else self.closed_step(name, front)

    def last_step(self, name: str, front: Front) -> StepKey:
        """The step at whose end a trade is done with a front, holes or not as its setting says."""
        trade = self.settings.trade[name]
        if isinstance(trade, PanelTrade) and trade.hole == "hold" and self.holes_on(trade, front):
            return holes_closed_step(name, front)
        return front_done(name, front)

    def method_on(self, trade: PanelTrade, family: str, front: Front) -> str | None:
        """How panels of a family are lifted in on a front; None by the floor crane."""
        return method_on(self.settings, self.levels, trade, family, front.spot)

    def waits(self, front: Front, *, draft: Draft, trade: str) -> list[int | StepKey]:
        """Steps that must end before a front may start; delays of a trade's first front are among them."""
        steps = self.waits_for(lambda s: s.trade[trade].after, front, draft=draft, name=trade)
        return [*steps, *self._delays(front, draft=draft, trade=trade, after=steps)]

    def waits_of_methods(
        self, front: Front, methods: Sequence[str | None], *, draft: Draft, trade: str
    ) -> dict[str | None, list[int | StepKey]]:
        """The same for each way in which panels are lifted on a front, by conditions of its own if any."""
        waits: dict[str | None, list[int | StepKey]] = {}
        of_trade: list[int | StepKey] | None = None
        for method in methods:
            if method is not None and self.settings.method[method].after:
                own, name = partial(_after_of, method), f"{trade} by {method}"
                waits[method] = self.waits_for(own, front, draft=draft, name=name, row=trade)
            else:
                of_trade = of_trade or self.waits_for(
                    lambda s: s.trade[trade].after, front, draft=draft, name=trade
                )
                waits[method] = of_trade
        first = next(iter(waits))
        waits[first] = [*waits[first], *self._delays(front, draft=draft, trade=trade, after=waits[first])]
        return waits

    def _delays(
        self, front: Front, *, draft: Draft, trade: str, after: list[int | StepKey]
    ) -> list[int | StepKey]:
        return add_delays(draft, on=trade, after=list(after)) if front.number == 0 else []

    def waits_for(
        self, conditions: Conditions, front: Front, *, draft: Draft, name: str, row: str | None = None
    ) -> list[int | StepKey]:
        """Steps that must end before something on a front; drying times become steps of the draft.

        row : whose row of the ledger the drying belongs to, if it is not that of the name.
        """
        steps: list[int | StepKey] = []
        for k, condition in enumerate(conditions(self.settings)):
            sources: list[int | StepKey] = list(self._sources(condition, front))
            lag = self.lag(conditions, k, name=name) if sources else None
            if lag is not None:
                on = condition.on + (f" {k}" if k else "")
                tags = draft.tags(row or name, front, kind=CURING)
                sources = [_wait(draft, lag, name, on=on, front=front, after=sources, tags=tags)]
            steps += sources
        return list(dict.fromkeys(steps))

    def lag(self, conditions: Lagging, k: int, *, name: str) -> DrawnMinutes | None:
        """How the lag of a condition is drawn, wherever it is waited for; None if there is none."""
        if (name, k) not in self._lags:
            lags = self.reading.ask(lambda n: conditions(n.settings)[k].lag_h.mean() > 0)
            term = Uncertain(lambda n: conditions(n.settings)[k].lag_h, f"lag {k} of {name}")
            self._lags[name, k] = DrawnMinutes((term,), factor=lambda _: HOUR_MIN) if lags else None
        return self._lags[name, k]

    def happens_once(self, on: str) -> bool:
        """Whether a condition names what belongs to no level."""
        return on == MOCK_UP or (on in self.settings.activity and not self.goes_by_level(on))

    def goes_by_level(self, on: str) -> bool:
        """Whether a condition names an activity that goes through the tower level by level."""
        return on in self.settings.activity and self.settings.activity[on].levels is not None

    def tested(self, floor: int) -> bool:
        """Whether the fronts of a floor are water tested."""
        test = self.settings.water_test
        return test is not None and floor < test.levels

    def sources_at(self, condition: Condition, band: Band = ()) -> Iterator[StepKey]:
        """Steps that a condition of an activity names: on one level, on all, or beside the band it is at."""
        zones = self.levels.zones
        if condition.levels_up is not None:
            for floor in band:
                yield from self._beside(condition.on, floor + condition.levels_up, zones=zones)
            return
        is_whole = condition.level in (None, "all") and condition.on in self.settings.activity
        if is_whole or self.happens_once(condition.on):
            yield activity_done(condition.on)
            return
        levels = self.levels.levels if condition.level == "all" else [condition.level]
        for level in levels:
            assert isinstance(level, int), "the scenario is checked when it is loaded"
            yield from self._beside(condition.on, self.levels.index(level), zones=zones)

    def _sources(self, condition: After, front: Front) -> Iterator[StepKey]:
        if self.happens_once(condition.on):
            yield activity_done(condition.on)
            return
        zones = self.levels.zones if condition.zones == "all" else (front.zone,)
        yield from self._beside(condition.on, front.floor + condition.levels_up, zones=zones)

    def _beside(self, on: str, floor: int, *, zones: tuple[str, ...]) -> Iterator[StepKey]:
        """Steps of what is done level by level, on a floor that need not be one of the tower."""
        if self.goes_by_level(on):
            step = done_at(on, self.settings.activity[on], floor=floor, levels=self.levels)
            if step is not None:
                yield step
        elif 0 <= floor < len(self.levels.levels):
            yield from self._on_floor(on, floor, zones=zones)

    def _on_floor(self, on: str, floor: int, *, zones: tuple[str, ...]) -> Iterator[StepKey]:
        level = self.levels.levels[floor]
        if on == "handover":
            yield handover_step(level)
        elif on == "closing_in":
            yield closing_in_step(level)
        elif on == WATER_TEST:
            if self.tested(floor):
                yield from (water_test_step(self.front_at(floor, zone)) for zone in zones)
        elif on == LEAVE_OUTS:
            fronts = (self.front_at(floor, zone) for zone in zones)
            yield from (leave_outs_step(front) for front in fronts if self.left_out(front))
        else:
            yield from (self.last_step(on, self.front_at(floor, zone)) for zone in zones)


def _after_of(method: str, settings: Settings) -> Sequence[After]:
    return settings.method[method].after


def _wait(
    draft: Draft,
    lag: DrawnMinutes,
    what: str,
    *,
    on: str,
    front: Front,
    after: list[int | StepKey],
    tags: int,
) -> int:
    """A step that only lets time pass, drawn per front."""
    name = (what, " ", front.where, ": wait after ", on)
    return draft.add(name, after=after, tags=tags, minutes=lag, item=front.number)
