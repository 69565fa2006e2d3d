"""The open hours of every operation under weather limits, year after year, measured as a question asks.

A year begins on the first day of the project and has twelve months. It is measured once in the calendar
alone, once in the record as it came, and in each generated year.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import ArrayLike

from towerpace.answers.prepare import Prepared
from towerpace.climate.hours import Hours
from towerpace.engine.openings import Opening
from towerpace.plan.parts import Window
from towerpace.plan.site.closures import looks_at, window_of
from towerpace.scenario.lifted import hours_and_limits, lifted
from towerpace.scenario.load import Scenario
from towerpace.scenario.schema import GangTrade
from towerpace.units import DAY_MIN, Floats, Ints

# What is asked of the open spans (n, 2) [min] of one window in one year: numbers, (m,).
Measure = Callable[[Ints], Floats]


@dataclass(frozen=True)
class Operation:
    """Work under weather limits: what it is called, its calendar and limits.

    zone : whose face it is on; None where no limit looks at faces, or none is stated.
    """

    name: str
    calendar: str
    limits: tuple[str, ...]
    zone: str | None = None


@dataclass(frozen=True)
class OpenYears:
    """One operation in one band of levels, measured; means over the levels of the band.

    calendar, record : (m,), of the shifts alone and of the record as it came. generated : (years, m).
    """

    operation: Operation
    lowest: int
    highest: int
    calendar: Floats
    record: Floats
    generated: Floats

    def where(self, month: str) -> tuple[str, tuple[str, ...], int, int, str]:
        """What every row of a month begins with: operation, limits, lowest and highest level, month."""
        return self.operation.name, self.operation.limits, self.lowest, self.highest, month


def operations_of(scenario: Scenario) -> list[Operation]:
    """Everything in a scenario that weather can stop; face by face where a limit looks at faces."""
    settings = scenario.settings
    names_of: dict[tuple[str, tuple[str, ...], str | None], list[str]] = {}
    for name, trade in settings.trade.items():
        if isinstance(trade, GangTrade):
            for zone in _faces(scenario, trade.limits):
                names_of.setdefault((trade.calendar, trade.limits, zone), []).append(name)
        for panels in (panels for panels in lifted(settings, scenario.levels) if panels.trade == name):
            calendar, limits = hours_and_limits(settings, panels)
            by = "" if panels.method is None else f" by {panels.method}"
            for zone in _faces(scenario, limits):
                names_of.setdefault((calendar, limits, zone), []).append(f"{name} {panels.family}{by}")
    if settings.hoist is not None:
        key = (settings.hoist.calendar, settings.hoist.limits, None)
        names_of.setdefault(key, []).append("hoist trips")
    return [
        Operation(", ".join(names) + (f", {key[2]} face" if key[2] else ""), *key)
        for key, names in names_of.items()
        if key[1]
    ]


def _faces(scenario: Scenario, limits: tuple[str, ...]) -> list[str | None]:
    """Zones whose faces make a difference to some limits; None for those whose faces make none."""
    faces = {
        zone: any(looks_at(scenario.settings, name, zone) for name in limits)
        for zone in scenario.levels.zones
    }
    looking: list[str | None] = [zone for zone, looks in faces.items() if looks]
    return looking if all(faces.values()) else [None, *looking]


def months_from(start: date) -> tuple[Ints, list[str]]:
    """First minutes of twelve months from the start on, one more to end the last, and their names."""
    firsts = [
        start,
        *(date(start.year + m // 12, m % 12 + 1, 1) for m in range(start.month, start.month + 12)),
    ]
    edges = np.array([(day - start).days * DAY_MIN for day in firsts], dtype=np.int64)
    return edges, [f"{day:%b %Y}" for day in firsts[:-1]]


def open_years(
    ready: Prepared,
    measures: Sequence[Measure],
    *,
    years: int,
    seed: int,
    bands: int,
    on_done: Callable[[int], None] = lambda _: None,
) -> list[list[OpenYears]]:
    """Every operation and band of levels, measured: a list of them for each measure.

    years : generated years. bands : into how many bands the levels are split, from the lowest up.

    Raises `ValueError` for a scenario without weather or for fewer than one year or band.
    """
    weather = ready.chooser.weather
    if weather is None:
        raise ValueError("the scenario has no weather")
    if years < 1 or bands < 1:
        raise ValueError(f"need at least one year and one band, got {years} and {bands}")
    groups = [g.tolist() for g in np.array_split(np.arange(len(ready.tower.levels)), bands) if len(g)]
    operations = operations_of(ready.scenario)
    windows = [
        [
            window_at(ready.scenario, operation, height_m=float(ready.scenario.levels.height_m[floor]))
            for floor in group
        ]
        for operation in operations
        for group in groups
    ]
    horizon = int(months_from(ready.tower.start)[0][-1])

    def measured(hours: Hours | None) -> list[list[Floats]]:
        return [_measured(band, measures, hours=hours, horizon=horizon) for band in windows]

    calendar = [[m(_merged(band[0].shifts)) for m in measures] for band in windows]
    record, generated = measured(weather.replayed(0)), []
    for trial in range(years):
        generated.append(measured(ready.chooser.hours(seed, trial)))
        on_done(1)
    kinds = [(operation, group) for operation in operations for group in groups]
    return [
        [
            OpenYears(
                operation=operation,
                lowest=ready.tower.levels[group[0]],
                highest=ready.tower.levels[group[-1]],
                calendar=calendar[k][m],
                record=record[k][m],
                generated=np.array([year[k][m] for year in generated]),
            )
            for k, (operation, group) in enumerate(kinds)
        ]
        for m in range(len(measures))
    ]


def window_at(scenario: Scenario, operation: Operation, *, height_m: float) -> Window:
    """The hours in which an operation may go on at a height."""
    return window_of(
        scenario.settings,
        operation.calendar,
        limits=operation.limits,
        height_m=height_m,
        zone=operation.zone,
    )


def _measured(
    band: list[Window], measures: Sequence[Measure], *, hours: Hours | None, horizon: int
) -> list[Floats]:
    """One year of one operation and band by each measure: mean over its levels, equal windows opened once."""
    number_of = Counter(window.name for window in band)
    windows = {window.name: window for window in band}
    spans = [_merged(Opening(windows[name], hours=hours, horizon=horizon).spans) for name in number_of]
    weights = list(number_of.values())
    return [np.average([measure(s) for s in spans], axis=0, weights=weights) for measure in measures]


def _merged(spans: ArrayLike) -> Ints:
    """The same minutes with spans that touch made one, as day and night shifts do, (n, 2). [min]"""
    array = np.asarray(spans, dtype=np.int64).reshape(-1, 2)
    if not len(array):
        return array
    begins = np.flatnonzero(np.concatenate(([True], array[1:, 0] > array[:-1, 1])))
    ends = np.append(begins[1:], len(array)) - 1
    return np.stack((array[begins, 0], array[ends, 1]), axis=1)
