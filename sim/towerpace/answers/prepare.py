"""A scenario made ready for trials: compiled, its record read, and the faults that only show then."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from towerpace.answers.days import Days
from towerpace.answers.own_parts import with_own_parts
from towerpace.answers.tired import fatigue_laws
from towerpace.climate.hours import Hours
from towerpace.climate.source import WeatherSource
from towerpace.draws import Chooser
from towerpace.engine.openings import Opening
from towerpace.faults import Fault, InputError
from towerpace.plan.lists import START
from towerpace.plan.parts import PlanError, Window
from towerpace.plan.site.drafting import TooManyStepsError
from towerpace.plan.site.tower import Tower, build
from towerpace.plan.site.weather import weather_of
from towerpace.scenario.lifted import method_on
from towerpace.scenario.load import Scenario
from towerpace.scenario.schema import PanelTrade
from towerpace.scenario.size_rules import MOST_STEPS
from towerpace.trials.collector import collector_at_rest
from towerpace.units import Ints

FAULTS_OF_A_KIND = 3


@dataclass(frozen=True)
class Prepared:
    """A scenario with its plan and the maker of its draws."""

    scenario: Scenario
    tower: Tower
    chooser: Chooser
    days: Days


def prepare(scenario: Scenario) -> Prepared:
    """Compile a scenario and read its record; raises `InputError` with every fault that shows only now."""
    _refuse(_storage_faults(scenario))
    weather = weather_of(scenario)
    try:
        with collector_at_rest():
            tower = build(scenario)
    except TooManyStepsError as error:
        found = f"what makes {error.steps}"
        raise InputError(
            [scenario.fault(error.path, found=found, allowed=f"a plan of at most {MOST_STEPS:,} steps")]
        ) from None
    except PlanError as error:
        raise InputError(_plan_faults(scenario, error)) from None
    except ValueError as error:  # a height beyond what the height law covers
        key = ("weather", "height_law")
        raise InputError(
            [scenario.fault(key, found=str(error), allowed="a law that covers the tower")]
        ) from None
    tower = with_own_parts(tower, scenario)
    prepared = Prepared(scenario, tower, Chooser(tower.plan, tower.laws, weather), Days(scenario.settings))
    _refuse(_window_faults(prepared))
    tired = fatigue_laws(scenario.settings, tower=tower, weather=weather)
    if not tired:
        return prepared
    chooser = Chooser(tower.plan, (*tower.laws, *tired), weather)
    return replace(prepared, tower=replace(tower, laws=chooser.laws), chooser=chooser)


def _refuse(faults: Iterator[Fault]) -> None:
    if listed := list(faults):
        raise InputError(listed)


def _storage_faults(scenario: Scenario) -> Iterator[Fault]:
    settings, levels = scenario.settings, scenario.levels
    if settings.storage is None:
        return
    for name, trade in settings.trade.items():
        if not isinstance(trade, PanelTrade):
            continue
        crates = sum(_crates_up(scenario, trade, family) for family in trade.families)
        floor, across = np.unravel_index(int(np.argmax(crates)), np.shape(crates))
        most = int(np.max(crates))
        if most > settings.storage.slots_per_level:
            front = f"{name} L{levels.levels[int(floor)]} {levels.zones[int(across)]}"
            yield scenario.fault(
                ("storage", "slots_per_level"),
                found=str(settings.storage.slots_per_level),
                allowed=f"at least {most}: the front '{front}' has {most} crates, which go up together",
            )


def _crates_up(scenario: Scenario, trade: PanelTrade, family: str) -> Ints:
    """Crates of a family that go up to the floors, by level and zone; none where they are lifted straight."""
    settings, levels = scenario.settings, scenario.levels
    counts = levels.counts[settings.family[family].column]
    crates: Ints = -(-counts // settings.family[family].crate_panels)
    ways = [[method_on(settings, levels, trade, family, spot) for spot in row] for row in _spots(counts)]
    straight = [[way is not None and settings.method[way].straight for way in row] for row in ways]
    return np.where(np.array(straight), 0, crates)


def _spots(counts: Ints) -> list[list[tuple[int, int]]]:
    return [[(i, j) for j in range(counts.shape[1])] for i in range(counts.shape[0])]


def _plan_faults(scenario: Scenario, error: PlanError) -> list[Fault]:
    """Faults of the plan, of each kind only the first few."""
    seen: Counter[str] = Counter()
    faults = []
    for text in error.faults:
        kind = re.sub(r"'[^']*'", "", text)
        seen[kind] += 1
        if seen[kind] <= FAULTS_OF_A_KIND:
            faults.append(Fault(scenario.path, None, "plan", text, "a plan that can be carried out"))
    more = sum(n - FAULTS_OF_A_KIND for n in seen.values() if n > FAULTS_OF_A_KIND)
    if more:
        faults.append(Fault(scenario.path, None, "plan", f"{more} more faults of these kinds", "none"))
    return faults


def _window_faults(prepared: Prepared) -> Iterator[Fault]:
    """Windows in which, on the record as it came, no step that needs them could ever be done."""
    plan, weather = prepared.tower.plan, prepared.chooser.weather
    if weather is None:
        return
    blamed: set[str] = set()
    starts = plan.mode == START
    shortest = np.full(len(plan.windows), plan.horizon, dtype=np.int64)
    np.minimum.at(shortest, plan.window[starts], plan.expected[starts])
    needed = np.bincount(plan.window[starts], minlength=len(plan.windows)) > 0
    for number, window in enumerate(plan.windows):
        fit = int(shortest[number]) if needed[number] else 1
        if not _OPENS.ever(window, weather, horizon=plan.horizon, fit=fit) and (
            limit := _culprit(prepared, window, blamed)
        ):
            blamed.add(limit)
            yield _never_met(prepared.scenario, limit, window.name)


@lru_cache(maxsize=2)
def _as_recorded(weather: WeatherSource) -> Hours:
    return weather.replayed(0)


class _Opens:
    """Remembers of windows whether they ever open: most scenarios of a study have most windows in common."""

    MOST = 2000

    def __init__(self) -> None:
        # Window and weather stay in the entry: while they do, nothing else can have the identities of their
        # shifts, their stops and their hours.
        self._known: dict[tuple[object, ...], tuple[Window, WeatherSource, bool]] = {}

    def ever(self, window: Window, weather: WeatherSource, *, horizon: int, fit: int) -> bool:
        """Whether so many minutes ever fit into a window on the record as it came."""
        key = (id(window.shifts), id(window.stops), tuple(window.limits), id(weather), horizon, fit)
        if key not in self._known:
            if len(self._known) >= self.MOST:
                self._known.clear()
            opening = Opening(window, hours=_as_recorded(weather), horizon=horizon)
            self._known[key] = (window, weather, opening.next_start(0, fit) is not None)
        return self._known[key][2]


_OPENS = _Opens()


def _culprit(prepared: Prepared, window: Window, blamed: set[str]) -> str | None:
    """The limit that alone leaves a window closed, else the last one; None if it was named already."""
    weather, horizon = prepared.chooser.weather, prepared.tower.plan.horizon
    assert weather is not None, "asked for only with weather"
    names = [limit.key for limit in window.limits]
    if not names or blamed.intersection(names):
        return None
    for name, limit in zip(names, window.limits, strict=True):
        alone = Opening(Window("alone", window.shifts, [limit]), hours=weather.replayed(0), horizon=horizon)
        if not len(alone.spans):
            return name
    return names[-1]


def _never_met(scenario: Scenario, name: str, window: str) -> Fault:
    limit = scenario.settings.limit[name]
    return scenario.fault(
        ("limit", name, limit.variable),
        found=f"{float(limit.threshold):g}",
        allowed=f"a limit that some working hour of the record meets; the window '{window}' never opens",
    )
