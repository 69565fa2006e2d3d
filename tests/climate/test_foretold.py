"""A forecast of the weather laid over the record's: members as they are, a single one with an error."""

from datetime import date

import numpy as np
import pytest

from towerpace.climate.foretold import ForetoldSource, wind_errors
from towerpace.climate.record import Record
from towerpace.climate.source import WeatherSource

YEARS = (2001, 2002)
N = 2 * 365 * 24
RECORD = Record(
    years=YEARS,
    height_m=10.0,
    speed_m_s=np.arange(N) % 7.0,
    gust_m_s=np.arange(N) % 7.0 + 1,
    gust_reported=np.ones(N, dtype=bool),
)
SOURCE = WeatherSource(RECORD, date(2027, 3, 1), 30, block_days=7)


def streams_of(trial):
    return lambda purpose: np.random.default_rng([trial, *purpose.encode()])


def member(value, *, first=48, last=72):
    hours = np.full(last, np.nan)
    hours[first:] = value
    return {"speed": hours, "gust": 2 * hours}


def test_the_members_of_an_ensemble_take_turns_and_other_hours_are_drawn():
    source = ForetoldSource.ahead_of(SOURCE, [member(3.0), member(30.0)], issued_h=48)
    for trial in range(4):
        hours, drawn = (one.hours(trial, streams_of(trial)) for one in (source, SOURCE))
        told = (3.0, 30.0)[trial % 2]
        assert hours.speed_m_s[48:72].tolist() == [told] * 24
        assert hours.gust_m_s[48:72].tolist() == [2 * told] * 24
        for rest in (slice(0, 48), slice(72, None)):
            assert np.array_equal(hours.speed_m_s[rest], drawn.speed_m_s[rest])


def test_a_single_forecast_is_never_taken_at_face_value():
    source = ForetoldSource.ahead_of(SOURCE, [member(10.0)], issued_h=36)
    first = [source.hours(trial, streams_of(trial)).speed_m_s[48] for trial in range(40)]
    assert len(set(first)) == 40
    assert source.hours(3, streams_of(3)).gust_m_s[50] == pytest.approx(
        2 * source.hours(3, streams_of(3)).speed_m_s[50]
    )


def test_the_error_grows_with_the_lead_and_a_day_later_it_has_mostly_changed():
    # By the formula: 0.10 at no lead, 0.35 at a week and later; hours a day apart correlated by 1/e.
    rng = np.random.default_rng(1)
    logs = np.log([wind_errors(240, rng=rng) for _ in range(4000)])
    spread = logs.std(axis=0)
    assert spread[[0, 84, 168, 239]] == pytest.approx([0.10, 0.225, 0.35, 0.35], rel=0.05)
    assert np.corrcoef(logs[:, 100], logs[:, 124])[0, 1] == pytest.approx(np.exp(-1), abs=0.05)
