"""Progress as rows of tables: when each trade begins and ends on each level, and panels set week by week."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

import numpy as np

from towerpace.answers.estimates import LATER
from towerpace.answers.forecast import Forecast
from towerpace.answers.said.kinds import Kind, On
from towerpace.answers.said.tables import Column, Row, Table
from towerpace.plan.site.tower import CLOSING_IN, HANDOVER
from towerpace.units import WEEK_MIN, Ints

BAND = (0.1, 0.5, 0.9)
_NAMES = ("p10", "p50", "p90")
FLOW = Table(
    "flow",
    "When each trade begins and ends on each level",
    (
        Column("trade", Kind.NAME, about="handover of the structure, a trade, or closing-in"),
        Column("level", Kind.COUNT, about="number of the level"),
        Column("height_m", Kind.NUMBER, unit="m", about="of the level above ground"),
        *(Column(f"begun_{p}", Kind.DATE, about=f"begun, {p.upper()}") for p in _NAMES),
        *(Column(f"done_{p}", Kind.DATE, about=f"done, {p.upper()}") for p in _NAMES),
    ),
    about="flowline: begin and end of every trade on every level",
    groups=True,
    folded=True,
    on=On.FILE | On.PAGE,
)
S_CURVE = Table(
    "s_curve",
    "Panels set by the end of each week",
    (
        Column("week_end", Kind.DATE, about="last day of the week"),
        *(Column(f"panels_{p}", Kind.COUNT, about=f"set by then, {p.upper()}") for p in _NAMES),
        Column("panels_total", Kind.COUNT, about="panels of the tower"),
    ),
    about="S-curve of the panels; no row for a tower without panels",
    folded=True,
    on=On.FILE | On.PAGE,
)


def ranked(values: Ints, p: float) -> Ints:
    """The value of rank ceil(n p) over the first axis, as `answers.estimates.percentile` takes it."""
    n = len(values)
    # 1e-9 keeps a product such as 0.7 x 10 from being rounded up to the next rank
    rank = max(1, int(np.ceil(n * p - 1e-9)))
    ordered: Ints = np.sort(values, axis=0)[rank - 1]
    return ordered


def flow_rows(forecast: Forecast) -> Iterator[Row]:
    """Handover of the structure, every trade, then closing-in; for the milestones begun and done are one."""
    values = forecast.outcomes.values
    # A level handed over at midnight is there on the day that begins: like a start, not like an end.
    handover = _after(values["handover"])
    yield from _flow(forecast, HANDOVER, begun=handover, done=handover)
    for k, trade in enumerate(forecast.tower.trades):
        yield from _flow(forecast, trade, begun=_after(values["begun"][:, k]), done=values["done"][:, k])
    if forecast.scenario.settings.closing_in is not None:
        yield from _flow(forecast, CLOSING_IN, begun=values["closing_in"], done=values["closing_in"])


def _flow(forecast: Forecast, trade: str, *, begun: Ints, done: Ints) -> Iterator[Row]:
    bands = [ranked(stamps, p) for stamps in (begun, done) for p in BAND]
    for floor, level in enumerate(forecast.tower.levels):
        height_m = float(forecast.scenario.levels.height_m[floor])
        yield trade, level, height_m, *(_date(forecast, int(band[floor])) for band in bands)


def _after(starts: Ints) -> Ints:
    """The end of the first minute after each start, which always lies on the day of the start. [min]"""
    return np.where(starts == LATER, LATER, starts + 1)


def _date(forecast: Forecast, minute: int) -> date | None:
    return None if minute == LATER else forecast.days.date_of(minute)


def s_curve_rows(forecast: Forecast) -> Iterator[Row]:
    """Up to the first week by which every trial has set all panels; no row for a tower without panels.

    The last week may be cut off by the horizon.
    """
    panels, total = forecast.outcomes.values["panels"], len(forecast.tower.panels)
    complete = np.flatnonzero((panels == total).all(axis=0))
    weeks = complete[0] + 1 if complete.size else panels.shape[1]
    if total == 0:
        return
    bands = [ranked(panels, p) for p in BAND]
    for week in range(int(weeks)):
        end = forecast.days.date_of(min((week + 1) * WEEK_MIN, forecast.tower.plan.horizon))
        yield end, *(int(band[week]) for band in bands), total
