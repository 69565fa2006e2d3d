"""Workable hours by month and level band, from the record as it came and from the generator."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date

import numpy as np

from towerpace.answers.ledger.waits import open_before
from towerpace.answers.prepare import Prepared
from towerpace.climate.hours import Hours
from towerpace.engine.openings import Opening
from towerpace.plan.parts import Window
from towerpace.plan.site.closures import window_of
from towerpace.scenario.load import Scenario
from towerpace.scenario.schema import GangTrade, PanelTrade
from towerpace.units import DAY_MIN, Floats, Ints


@dataclass(frozen=True)
class Operation:
    """Work under weather limits: what it is called, its calendar and limits."""

    name: str
    calendar: str
    limits: tuple[str, ...]


@dataclass(frozen=True)
class Workable:
    """Hours of one operation in one band of levels and one month of the first project year. [h]

    shift_h : hours of the calendar. record_h : of these, workable in the record. generated_h : mean over
    the generated years, with its 10th and 90th percentile.
    """

    operation: str
    limits: tuple[str, ...]
    lowest: int
    highest: int
    month: str
    shift_h: float
    record_h: float
    generated_h: float
    generated_p10_h: float
    generated_p90_h: float


def operations_of(scenario: Scenario) -> list[Operation]:
    """Everything in a scenario that weather can stop."""
    settings = scenario.settings
    names_of: dict[tuple[str, tuple[str, ...]], list[str]] = {}
    for name, trade in settings.trade.items():
        if isinstance(trade, GangTrade):
            names_of.setdefault((trade.calendar, trade.limits), []).append(name)
        elif isinstance(trade, PanelTrade):
            for family in trade.families:
                key = (trade.calendar, settings.family[family].limits)
                names_of.setdefault(key, []).append(f"{name} {family}")
    if settings.hoist is not None:
        names_of.setdefault((settings.hoist.calendar, settings.hoist.limits), []).append("hoist trips")
    return [Operation(", ".join(names), *key) for key, names in names_of.items() if key[1]]


def workable(
    ready: Prepared, *, years: int, seed: int, bands: int = 4, on_done: Callable[[int], None] = lambda _: None
) -> list[Workable]:
    """Workable hours of every operation, band and month.

    years : generated years. bands : into how many bands the levels are split, from the lowest up.

    Raises `ValueError` for a scenario without weather or for fewer than one year or band.
    """
    weather = ready.chooser.weather
    if weather is None:
        raise ValueError("the scenario has no weather")
    if years < 1 or bands < 1:
        raise ValueError(f"need at least one year and one band, got {years} and {bands}")
    operations = operations_of(ready.scenario)
    groups = [g.tolist() for g in np.array_split(np.arange(len(ready.tower.levels)), bands) if len(g)]
    edges, names = _months(ready.tower.start)
    windows = {
        (k, b): [_window(ready.scenario, operation, floor) for floor in group]
        for k, operation in enumerate(operations)
        for b, group in enumerate(groups)
    }
    record = _by_month(windows, weather.replayed(0), edges=edges)
    generated = []
    for trial in range(years):
        generated.append(_by_month(windows, ready.chooser.hours(seed, trial), edges=edges))
        on_done(1)
    return list(
        _rows(ready, operations, groups, names, windows, record=record, generated=generated, edges=edges)
    )


def _window(scenario: Scenario, operation: Operation, floor: int) -> Window:
    height_m = float(scenario.levels.height_m[floor])
    return window_of(scenario.settings, operation.calendar, limits=operation.limits, height_m=height_m)


def _months(start: date) -> tuple[Ints, list[str]]:
    """First minutes of twelve months from the start on, one more to end the last, and their names."""
    firsts = [
        start,
        *(date(start.year + m // 12, m % 12 + 1, 1) for m in range(start.month, start.month + 12)),
    ]
    edges = np.array([(day - start).days * DAY_MIN for day in firsts], dtype=np.int64)
    return edges, [f"{day:%b %Y}" for day in firsts[:-1]]


def _by_month(
    windows: dict[tuple[int, int], list[Window]], hours: Hours | None, *, edges: Ints
) -> dict[tuple[int, int], Floats]:
    """Open hours of each month, mean over the levels of a band."""
    horizon, open_by_month = int(edges[-1]), {}
    open_h: dict[str, Floats] = {}
    for key, band in windows.items():
        for window in band:
            if window.name not in open_h:
                spans = Opening(window, hours=hours, horizon=horizon).spans
                open_h[window.name] = np.diff(open_before(spans, edges)) / 60
        open_by_month[key] = np.mean([open_h[window.name] for window in band], axis=0)
    return open_by_month


def _rows(
    ready: Prepared,
    operations: list[Operation],
    groups: list[list[int]],
    names: list[str],
    windows: dict[tuple[int, int], list[Window]],
    *,
    record: dict[tuple[int, int], Floats],
    generated: list[dict[tuple[int, int], Floats]],
    edges: Ints,
) -> Iterator[Workable]:
    for (k, b), band in windows.items():
        shift = np.diff(open_before(np.asarray(band[0].shifts, dtype=np.int64), edges)) / 60
        years = np.array([year[k, b] for year in generated])
        p10, p90 = np.percentile(years, (10, 90), axis=0)
        levels = [ready.tower.levels[floor] for floor in groups[b]]
        for m, month in enumerate(names):
            yield Workable(
                operation=operations[k].name,
                limits=operations[k].limits,
                lowest=levels[0],
                highest=levels[-1],
                month=month,
                shift_h=float(shift[m]),
                record_h=float(record[k, b][m]),
                generated_h=float(years[:, m].mean()),
                generated_p10_h=float(p10[m]),
                generated_p90_h=float(p90[m]),
            )
