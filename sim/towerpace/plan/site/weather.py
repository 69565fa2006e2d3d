"""The weather of a scenario: its record, read and checked, and the generator it asks for."""

from __future__ import annotations

from datetime import date
from functools import lru_cache
from pathlib import Path

from towerpace.climate.clock import on_clock
from towerpace.climate.record import Record, read_record
from towerpace.climate.source import WeatherSource
from towerpace.faults import Fault, InputError
from towerpace.scenario.load import Scenario
from towerpace.scenario.schema import Settings


def weather_of(scenario: Scenario) -> WeatherSource | None:
    """Where the hours of a scenario's trials come from; None without weather.

    Raises `InputError` with every fault of the record.
    """
    weather, path = scenario.settings.weather, scenario.weather_record
    if weather is None or path is None:
        return None
    state = path.stat() if path.is_file() else None
    record = _record(
        path,
        (state.st_mtime_ns, state.st_size) if state else None,
        missing_gust_factor=float(weather.missing_gust_factor),
        knots=weather.knots,
        needed=frozenset(_needed(scenario.settings)),
    )
    year = weather.replay_year
    if year is not None and year not in record.years:
        years = ", ".join(str(y) for y in record.years)
        raise InputError([Fault(scenario.path, None, "weather.replay_year", str(year), f"one of {years}")])
    tower, blocks = scenario.settings.tower, weather.generator == "blocks"
    return _source(
        record,
        tower.time_zone,
        float(weather.utc_offset_h),
        first_day=tower.start,
        n_days=tower.horizon_days,
        block_days=weather.block_days if blocks else None,
        season_days=weather.season_days,
        year_factor_sd=float(weather.year_factor_sd or 0.0),
        replay_year=year,
    )


@lru_cache(maxsize=4)
def _record(
    path: Path,
    state: tuple[int, int] | None,
    *,
    missing_gust_factor: float,
    knots: bool,
    needed: frozenset[str],
) -> Record:
    """A record, read once as long as its file stays as it is. state : time and size of the file."""
    del state
    return read_record(
        path, missing_gust_factor=missing_gust_factor, knots=knots, shown_as=str(path), needed=set(needed)
    )


@lru_cache(maxsize=4)
def _source(
    record: Record,
    time_zone: str | None,
    utc_offset_h: float,
    *,
    first_day: date,
    n_days: int,
    block_days: int | None,
    season_days: int,
    year_factor_sd: float,
    replay_year: int | None,
) -> WeatherSource:
    """The same source for the same record, clock and days."""
    clock = None
    if time_zone is not None:
        clock = on_clock(
            record, time_zone=time_zone, utc_offset_h=utc_offset_h, first_day=first_day, n_days=n_days
        )
    return WeatherSource(
        record=record,
        clock=clock,
        first_day=first_day,
        n_days=n_days,
        block_days=block_days,
        season_days=season_days,
        year_factor_sd=year_factor_sd,
        replay_year=replay_year,
    )


_COLUMNS = {
    "rain_above_mm_h": "rain",
    "temperature_below_degC": "temperature",
    "temperature_above_degC": "temperature",
    "visibility_below_km": "visibility",
}


def _needed(settings: Settings) -> set[str]:
    """Columns of the record beside wind that some limit compares."""
    limits = settings.limit.values()
    columns = {_COLUMNS[limit.variable] for limit in limits if limit.variable in _COLUMNS}
    return columns | ({"direction"} if any(limit.looks_at_faces for limit in limits) else set())
