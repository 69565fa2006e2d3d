"""The answers of a forecast as tidy tables, one row a fact; `columns.TABLES` names the columns."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

import numpy as np

from towerpace import __version__
from towerpace.answers.estimates import LATER, Percentile
from towerpace.answers.forecast import PERCENTILES, Forecast
from towerpace.render.tables.columns import frame
from towerpace.render.tables.portable import portable
from towerpace.render.tables.progress import flow_rows, s_curve_rows

if TYPE_CHECKING:
    from pandas import DataFrame

Rows = Iterator[tuple[object, ...]]
HASH_SHOWN = 12  # characters of the scenario hash that files and figures carry


def tables_of(forecast: Forecast) -> dict[str, DataFrame]:
    """Every table of a forecast by name."""
    stamp = (forecast.scenario.hash[:HASH_SHOWN], forecast.seed, __version__)
    return {name: frame(name, rows(forecast), stamp=stamp) for name, rows in _ROWS.items()}


def _finish(forecast: Forecast) -> Rows:
    for trial, minute in enumerate(forecast.finish.tolist()):
        known = minute != LATER
        yield trial, minute if known else None, forecast.days.date_of(minute) if known else None


def _percentiles(forecast: Forecast) -> Rows:
    for p in PERCENTILES:
        estimate = forecast.finish_at(p)
        value = estimate.value
        worked = None if value is None else forecast.days.working_day(value)
        yield p, *_dates(forecast, estimate)[:3], worked, estimate.bounded


def _dates(forecast: Forecast, estimate: Percentile) -> tuple[object, ...]:
    """Date of a percentile, of the ends of its interval where there is one, and whether there is one."""
    minutes = (estimate.value, *((estimate.low, estimate.high) if estimate.bounded else (None, None)))
    dates = [None if minute is None else forecast.days.date_of(minute) for minute in minutes]
    return (*dates, estimate.bounded)


def _closing_in(forecast: Forecast) -> Rows:
    stated = sorted(
        (c.level, c.date) for c in forecast.scenario.settings.contract.values() if c.level is not None
    )
    halves, fifths = forecast.closing_in(0.5), forecast.closing_in(0.8)
    for (level, half), (_, fifth) in zip(halves, fifths, strict=True):
        first = next((date for on, date in stated if on == level), None)
        height_m = float(forecast.scenario.levels.height_m[forecast.tower.levels.index(level)])
        yield level, height_m, *_dates(forecast, half), *_dates(forecast, fifth), first


def _contracts(forecast: Forecast) -> Rows:
    for one in forecast.contracts:
        kind = "finish" if one.level is None else "closing-in"
        yield one.name, kind, one.level, one.date, one.chance.value, one.chance.low, one.chance.high
    if (joint := forecast.joint) is not None:
        yield "all dates together", "joint", None, None, joint.value, joint.low, joint.high


def _ledger(forecast: Forecast) -> Rows:
    """Causes that took no minute of a row are left out."""
    hours = forecast.ledger_h
    for row, cause in np.argwhere(hours > 0).tolist():
        yield forecast.rows[row], forecast.causes[cause], float(hours[row, cause])


def _ledger_by_level(forecast: Forecast) -> Rows:
    hours = forecast.ledger_by_level_h
    for row, floor, cause in np.argwhere(hours > 0).tolist():
        value = float(hours[row, floor, cause])
        yield forecast.rows[row], forecast.tower.levels[floor], forecast.causes[cause], value


def _assumptions(forecast: Forecast) -> Rows:
    for one in forecast.scenario.assumptions():
        yield one.key, portable(one.text), one.source, not one.source


_ROWS: dict[str, Callable[[Forecast], Rows]] = {
    "finish": _finish,
    "percentiles": _percentiles,
    "closing_in": _closing_in,
    "contracts": _contracts,
    "flow": flow_rows,
    "s_curve": s_curve_rows,
    "ledger": _ledger,
    "ledger_by_level": _ledger_by_level,
    "assumptions": _assumptions,
}
