"""What a site may report: every word, where it belongs, and how many units there are at each place."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import Enum
from typing import NamedTuple

import numpy as np

from towerpace.plan.site.bands import Band, bands_of
from towerpace.plan.site.fronts import DELIVERY, HOISTING
from towerpace.plan.site.leave_outs import LEAVE_OUTS as LEFT_OUT_ROW
from towerpace.plan.site.lifting import LIFT
from towerpace.plan.site.tower import Tower
from towerpace.record.step_index import StepIndex
from towerpace.scenario.levels import Levels
from towerpace.scenario.load import Scenario
from towerpace.scenario.once import LEAVE_OUTS, MOCK_UP, WATER_TEST
from towerpace.scenario.schema import Activity, PanelTrade, Trade
from towerpace.units import Ints

HANDOVER, CRATES_UP, CRATES_DOWN, TRUCKS_IN = "handover", "crates_up", "crates_down", "trucks_in"
MASTS, HOLES, REMAKE, RISK = "masts", "holes", "remake", "risk"
SUPPLY_KINDS = {
    CRATES_UP: (HOISTING, "hoist trip"),
    CRATES_DOWN: (HOISTING, "empty crate down"),
    TRUCKS_IN: (DELIVERY, "unloading"),
}


class Place(NamedTuple):
    """What is reported, and where: a front has a level and a zone, what happens once has neither."""

    what: str
    level: int | None = None
    zone: str = ""

    @property
    def said(self) -> str:
        """As people say it.

        >>> Place("brackets", 8, "north").said, Place("handover", 8).said, Place("mock_up").said
        ('brackets L8 north', 'handover L8', 'mock_up')
        """
        where = "" if self.level is None else f" L{self.level}" + (f" {self.zone}" if self.zone else "")
        return f"{self.what}{where}"


class By(Enum):
    """Where a word is reported: front by front, level by level, or once for the site."""

    FRONT = "a front"
    LEVEL = "a level"
    SITE = "the site"


class How(Enum):
    """What `done` says of a word.

    UNITS : how many, or a share. WHOLE : how many whole ones. NOW : how many there are now, which may fall.
    TRUTH : yes or no. TRIES : passed, or how many tries have failed. EVENT : yes, no or over.
    """

    UNITS = "units"
    WHOLE = "whole units"
    NOW = "whole units now"
    TRUTH = "yes or no"
    TRIES = "tries"
    EVENT = "an event"


class Word(NamedTuple):
    """A word of the column `what`."""

    name: str
    by: By
    how: How


@dataclass(frozen=True)
class Words:
    """All that a site of one scenario may report.

    words : by name. totals : units of every place that has any; 1 for what is only done or not.
    """

    words: Mapping[str, Word]
    totals: Mapping[Place, float]
    levels: tuple[int, ...]
    zones: tuple[str, ...]

    @classmethod
    def of(cls, scenario: Scenario, tower: Tower, index: StepIndex) -> Words:
        """The words of a scenario."""
        words: dict[str, Word] = {}
        totals: dict[Place, float] = {}
        for word, places in _all_words(scenario, tower, index):
            if places:
                words[word.name] = word
                totals |= places
        return cls(words, totals, tower.levels, tower.zones)

    def places_of(self, what: str) -> list[Place]:
        """Places of a word, from the lowest level up."""
        return [place for place in self.totals if place.what == what]


_Places = dict[Place, float]


def _all_words(scenario: Scenario, tower: Tower, index: StepIndex) -> Iterator[tuple[Word, _Places]]:
    settings, levels = scenario.settings, scenario.levels
    yield Word(HANDOVER, By.LEVEL, How.TRUTH), {Place(HANDOVER, level): 1.0 for level in levels.levels}
    for name, trade in settings.trade.items():
        how = How.WHOLE if isinstance(trade, PanelTrade) else How.UNITS
        yield Word(name, By.FRONT, how), _fronts(name, _units(trade, scenario), levels)
    for word, (row, kind) in SUPPLY_KINDS.items():
        yield Word(word, By.FRONT, How.WHOLE), _counted(word, tower, index, row=row, kind=kind)
    panel_trades = [trade for trade in settings.trade.values() if isinstance(trade, PanelTrade)]
    if panel_trades:
        panels: Ints = np.sum([set_now(trade, scenario) for trade in panel_trades], axis=0)
        yield Word(HOLES, By.FRONT, How.NOW), _fronts(HOLES, panels, levels)
        yield Word(REMAKE, By.FRONT, How.WHOLE), _fronts(REMAKE, panels, levels)
    masts = {Place(MASTS, level): float(n) for level in levels.levels if (n := len(_masts(index, level)))}
    yield Word(MASTS, By.LEVEL, How.WHOLE), masts
    tests = _counted(WATER_TEST, tower, index, row=WATER_TEST, kind=WATER_TEST)
    yield Word(WATER_TEST, By.FRONT, How.TRUTH), tests
    gaps = _counted(LEAVE_OUTS, tower, index, row=LEFT_OUT_ROW, kind=LIFT)
    yield Word(LEAVE_OUTS, By.FRONT, How.WHOLE), gaps
    yield from _once(scenario)


def _once(scenario: Scenario) -> Iterator[tuple[Word, _Places]]:
    settings = scenario.settings
    for name, activity in settings.activity.items():
        bands = bands_of(activity, scenario.levels)
        if not bands:
            yield Word(name, By.SITE, How.UNITS), {Place(name): float(activity.lifts or 1)}
            continue
        units = {band: _units_of_band(activity, band, scenario) for band in bands}
        places = {Place(name, scenario.levels.levels[band[0]]): n for band, n in units.items() if n}
        yield Word(name, By.LEVEL, How.UNITS), places
    if settings.mock_up is not None:
        yield Word(MOCK_UP, By.SITE, How.TRIES), {Place(MOCK_UP): float(settings.mock_up.most_tries)}
    for risk in settings.risk:
        name = f"{RISK} {risk.name}"
        yield Word(name, By.SITE, How.EVENT), {Place(name): 1.0}


def _units_of_band(activity: Activity, band: Band, scenario: Scenario) -> float:
    """Units of an activity at the levels that it does in one go: its lifts, or those of its column."""
    if activity.column is None:
        return float(activity.lifts or 1)
    return float(scenario.levels.counts[activity.column][list(band)].sum())


def _fronts(name: str, units: Ints, levels: Levels) -> _Places:
    return {
        Place(name, level, zone): float(units[i, j])
        for i, level in enumerate(levels.levels)
        for j, zone in enumerate(levels.zones)
        if units[i, j] > 0
    }


def _units(trade: Trade, scenario: Scenario) -> Ints:
    """Units of every front, (n_levels, n_zones)."""
    if isinstance(trade, PanelTrade):
        return set_now(trade, scenario)
    columns = [trade.column] if trade.column is not None else []
    columns += [piece.column for piece in trade.classes.values()]
    units: Ints = np.sum([scenario.levels.counts[column] for column in columns], axis=0)
    return units


def set_now(trade: PanelTrade, scenario: Scenario) -> Ints:
    """Panels of every front that are set while the gang is there, (n_levels, n_zones)."""
    counts, settings = scenario.levels.counts, scenario.settings
    panels: Ints = np.sum([counts[settings.family[family].column] for family in trade.families], axis=0)
    return panels if settings.leave_outs is None else panels - counts[settings.leave_outs.column]


def _counted(word: str, tower: Tower, index: StepIndex, *, row: str, kind: str) -> _Places:
    """Places of a word that stands for steps of one kind, with their number."""
    return {
        Place(word, front.level, front.zone): float(n)
        for front in tower.fronts
        if (n := len(index.of(row, front.level, front.zone, kind)))
    }


def _masts(index: StepIndex, level: int) -> list[int]:
    return index.of("", level, "", "mast extension")
