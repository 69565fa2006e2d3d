"""Weather allowance: hours and days lost to weather by operation, band of levels and month.

Lost hours are hours of the operation's calendar in which its weather limits are not met, mean over the levels
of a band; a level's day is lost when weather takes at least half of its calendar hours. The record is played
as it came, beginning in each of its years in turn, and dealt anew by the generator, as in the forecast.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np

from towerpace.answers.estimates import Percentile, percentile
from towerpace.answers.ledger.waits import open_before
from towerpace.answers.open_years import Operation, operations_of, window_at
from towerpace.answers.prepare import Prepared
from towerpace.climate.hours import Hours
from towerpace.climate.source import WeatherSource
from towerpace.draws import Chooser
from towerpace.engine.openings import Opening
from towerpace.plan.parts import Window
from towerpace.units import DAY_MIN, HOUR_MIN, Floats, Ints

ALL_MONTHS = "all"
LOST_SHARE = 0.5  # of a day's calendar hours
QUANTILES = (0.5, 0.8, 0.9)
METHOD = (
    "An hour is lost when the operation's calendar is open and a weather limit is not met, restart times "
    "among them, mean over the levels of the band. A day is lost when at least half of its calendar hours "
    "are. Percentiles are over generated years, by order statistics; the 1-in-10 month is their P90."
)


@dataclass(frozen=True)
class Basis:
    """What an allowance rests on.

    record_years : of the record. years : generated. factor_sd : of the year factor, 0 without. [-]
    generator : of the scenario, "blocks" or "replay".
    """

    record: str
    station: str
    record_years: tuple[int, ...]
    record_height_m: float
    generator: str
    factor_sd: float
    block_days: int
    season_days: int
    years: int
    method: str = METHOD


@dataclass(frozen=True)
class Lost:
    """Hours or days lost in one month over many years. mean, then percentiles."""

    mean: float
    p50: Percentile
    p80: Percentile
    p90: Percentile


@dataclass(frozen=True)
class Allowance:
    """Loss of one operation in one band of levels and one month of the project, or in all of them.

    shift_h, shift_days : of its calendar. record_h, record_days : lost in the record, mean over its years as
        starting years; record_most_h the worst of them. hours, days : generated, percentiles in minutes and
        thousandths of a day. steady_hours : generated without the year factor, None where there is none.
    """

    operation: str
    limits: tuple[str, ...]
    lowest: int
    highest: int
    month: str
    shift_h: float
    shift_days: int
    record_h: float
    record_most_h: float
    record_days: float
    hours: Lost
    days: Lost
    steady_hours: Lost | None


def basis_of(ready: Prepared, *, years: int) -> Basis:
    """What the allowance of a scenario rests on; raises `ValueError` without weather."""
    weather, source = ready.scenario.settings.weather, ready.chooser.weather
    if weather is None or source is None:
        raise ValueError("the scenario has no weather")
    return Basis(
        record=weather.record,
        station=weather.source or "",
        record_years=source.record.years,
        record_height_m=float(weather.record_height_m),
        generator=weather.generator,
        factor_sd=source.year_factor_sd if source.block_days else 0.0,
        block_days=source.block_days or 0,
        season_days=source.season_days,
        years=years,
    )


def allowance(
    ready: Prepared,
    *,
    years: int,
    seed: int,
    until: date | None = None,
    bands: int = 3,
    on_done: Callable[[int], None] = lambda _: None,
) -> list[Allowance]:
    """Weather allowance by operation, band and month.

    years : generated. until : last day looked at, by default twelve calendar months, that of the start
    first. bands : of levels, from the lowest up.

    Raises `ValueError` for a scenario without weather or for fewer than one year or band.
    """
    weather = ready.chooser.weather
    if weather is None:
        raise ValueError("the scenario has no weather")
    if years < 1 or bands < 1:
        raise ValueError(f"need at least one year and one band, got {years} and {bands}")
    sheet = _sheet(ready, until=until, bands=bands)
    replays = [sheet.lost(replayed) for replayed in _replays(weather)]
    generated, steady = [], []
    plain = replace(weather, year_factor_sd=0.0)
    varies = weather.block_days is not None and weather.year_factor_sd > 0
    without = Chooser(ready.chooser.plan, (), plain)
    for trial in range(years):
        generated.append(sheet.lost(ready.chooser.hours(seed, trial)))
        if varies:
            steady.append(sheet.lost(without.hours(seed, trial)))
        on_done(1)
    return list(_rows(sheet, replays, generated, steady))


def _replays(weather: WeatherSource) -> Iterator[Hours]:
    """The record as it came, once from each of its years on; from one only where the scenario says so."""
    for trial in range(1 if weather.replay_year is not None else len(weather.record.years)):
        yield weather.replayed(trial)


@dataclass(frozen=True)
class _Sheet:
    """Where losses are counted.

    windows : by operation and band, one window a level. edges : midnights of all days looked at. [min]
    firsts : place of the first day of each month among the days. months : their names, and all together.
    """

    operations: tuple[Operation, ...]
    bands: tuple[tuple[int, int], ...]
    windows: dict[tuple[int, int], list[Window]]
    edges: Ints
    firsts: Ints
    months: tuple[str, ...]

    def lost(self, hours: Hours | None) -> dict[tuple[int, int], Floats]:
        """Hours and days lost by month and in all, (2, n_months), mean over the levels. [h, d]"""
        seen: dict[str, Floats] = {}
        for window in (window for band in self.windows.values() for window in band):
            if window.name not in seen:
                seen[window.name] = self._of_window(window, hours)
        return {
            key: np.mean([seen[window.name] for window in band], axis=0) for key, band in self.windows.items()
        }

    def _of_window(self, window: Window, hours: Hours | None) -> Floats:
        opening = Opening(window, hours=hours, horizon=int(self.edges[-1]))
        shift, left = (np.diff(open_before(spans, self.edges)) for spans in (opening.shifts, opening.spans))
        lost = shift - left
        days = (shift > 0) & (lost >= LOST_SHARE * shift)
        return np.array([self._by_month(lost / HOUR_MIN), self._by_month(days.astype(np.float64))])

    def _by_month(self, by_day: Floats) -> Floats:
        """Sums by month, and over all of them."""
        return np.append(np.add.reduceat(by_day, self.firsts), by_day.sum())

    def shift(self, key: tuple[int, int]) -> tuple[Floats, Floats]:
        """Hours and days of the calendar by month and in all, (n_months,) each."""
        spans = np.asarray(self.windows[key][0].shifts, dtype=np.int64)
        minutes = np.diff(open_before(spans, self.edges))
        return self._by_month(minutes / HOUR_MIN), self._by_month((minutes > 0).astype(np.float64))


def _sheet(ready: Prepared, *, until: date | None, bands: int) -> _Sheet:
    start, scenario = ready.tower.start, ready.scenario
    end = date(start.year + 1, start.month, 1) if until is None else until + timedelta(days=1)
    n_days = (end - start).days
    n_days = max(1, min(n_days, scenario.settings.tower.horizon_days))
    days = np.datetime64(start, "D") + np.arange(n_days)
    months = days.astype("datetime64[M]")
    firsts = np.flatnonzero(np.concatenate(([True], months[1:] != months[:-1])))
    operations = tuple(operations_of(scenario))
    groups = [g.tolist() for g in np.array_split(np.arange(len(ready.tower.levels)), bands) if len(g)]
    windows = {
        (k, b): [
            window_at(scenario, operation, height_m=float(scenario.levels.height_m[floor])) for floor in group
        ]
        for k, operation in enumerate(operations)
        for b, group in enumerate(groups)
    }
    ends = tuple((ready.tower.levels[g[0]], ready.tower.levels[g[-1]]) for g in groups)
    edges = np.arange(n_days + 1, dtype=np.int64) * DAY_MIN
    return _Sheet(operations, ends, windows, edges, firsts, (*map(str, months[firsts]), ALL_MONTHS))


def _rows(
    sheet: _Sheet,
    replays: list[dict[tuple[int, int], Floats]],
    generated: list[dict[tuple[int, int], Floats]],
    steady: list[dict[tuple[int, int], Floats]],
) -> Iterator[Allowance]:
    for k, b in sheet.windows:
        shift_h, shift_days = sheet.shift((k, b))
        record = np.array([one[k, b] for one in replays])
        drawn = np.array([one[k, b] for one in generated])
        calm = np.array([one[k, b] for one in steady]) if steady else None
        for m, month in enumerate(sheet.months):
            yield Allowance(
                operation=sheet.operations[k].name,
                limits=sheet.operations[k].limits,
                lowest=sheet.bands[b][0],
                highest=sheet.bands[b][1],
                month=month,
                shift_h=float(shift_h[m]),
                shift_days=int(shift_days[m]),
                record_h=float(record[:, 0, m].mean()),
                record_most_h=float(record[:, 0, m].max()),
                record_days=float(record[:, 1, m].mean()),
                hours=_lost(drawn[:, 0, m], HOUR_MIN),
                days=_lost(drawn[:, 1, m], 1000),
                steady_hours=None if calm is None else _lost(calm[:, 0, m], HOUR_MIN),
            )


def _lost(values: Floats, scale: int) -> Lost:
    whole = np.rint(values * scale).astype(np.int64)
    p50, p80, p90 = (percentile(whole, p) for p in QUANTILES)
    return Lost(float(values.mean()), p50, p80, p90)
