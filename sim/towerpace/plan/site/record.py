"""The weather of a scenario: its record, read and checked, and the generator it asks for."""

from __future__ import annotations

from towerpace.climate.clock import on_clock
from towerpace.climate.record import read_record
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
    record = read_record(
        path,
        missing_gust_factor=float(weather.missing_gust_factor),
        knots=weather.knots,
        shown_as=str(path),
        needed=_needed(scenario.settings),
    )
    year = weather.replay_year
    if year is not None and year not in record.years:
        years = ", ".join(str(y) for y in record.years)
        raise InputError([Fault(scenario.path, None, "weather.replay_year", str(year), f"one of {years}")])
    blocks, tower = weather.generator == "blocks", scenario.settings.tower
    clock = None
    if tower.time_zone is not None:
        clock = on_clock(
            record,
            time_zone=tower.time_zone,
            utc_offset_h=float(weather.utc_offset_h),
            first_day=tower.start,
            n_days=tower.horizon_days,
        )
    return WeatherSource(
        record=record,
        clock=clock,
        first_day=tower.start,
        n_days=tower.horizon_days,
        block_days=weather.block_days if blocks else None,
        season_days=weather.season_days,
        year_factor_sd=float(weather.year_factor_sd or 0.0),
        replay_year=year,
    )


_COLUMNS = {
    "rain_above_mm_h": "rain",
    "temperature_below_degC": "temperature",
    "temperature_above_degC": "temperature",
    "visibility_below_km": "visibility",
}


def _needed(settings: Settings) -> set[str]:
    """Columns of the record beside wind that some limit compares."""
    return {_COLUMNS[limit.variable] for limit in settings.limit.values() if limit.variable in _COLUMNS}
