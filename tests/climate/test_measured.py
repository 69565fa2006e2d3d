"""Measured hours stand in the place of drawn ones; gaps and what nobody measured are drawn."""

from datetime import date

import numpy as np

from towerpace.climate.measured import MeasuredSource
from towerpace.climate.record import Record
from towerpace.climate.source import WeatherSource

N = 8760
RECORD = Record(
    years=(2013,),
    height_m=10.0,
    speed_m_s=np.arange(N) % 7.0,
    gust_m_s=np.arange(N) % 7.0 + 1,
    gust_reported=np.ones(N, dtype=bool),
    rain_mm=np.zeros(N),
)


def streams_of(trial):
    """A generator of its own for every purpose."""
    return lambda purpose: np.random.default_rng([trial, *purpose.encode()])


def test_known_hours_are_as_measured_in_every_trial():
    source = WeatherSource(RECORD, date(2027, 3, 1), 30, block_days=7)
    measured = {"speed": np.array([20.0, np.nan, 21.0]), "gust": np.array([22.0, np.nan, 23.0])}
    known = MeasuredSource.over(source, measured)
    for trial in range(3):
        hours, drawn = (one.hours(trial, streams_of(trial)) for one in (known, source))
        assert hours.speed_m_s[[0, 2]].tolist() == [20.0, 21.0]
        assert hours.gust_m_s[[0, 2]].tolist() == [22.0, 23.0]
        rest = np.r_[1, 3 : len(drawn.speed_m_s)]
        assert np.array_equal(hours.speed_m_s[rest], drawn.speed_m_s[rest])
        assert np.array_equal(hours.rain_mm, drawn.rain_mm)
        assert hours.temperature_c is None


def test_nothing_measured_is_the_source_itself():
    source = WeatherSource(RECORD, date(2027, 3, 1), 30)
    hours = MeasuredSource.over(source, {}).replayed(0)
    assert np.array_equal(hours.gust_m_s, source.replayed(0).gust_m_s)
