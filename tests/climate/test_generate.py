"""Days dealt from a record: identities of the block bootstrap, replay and year factor."""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from towerpace.climate.generate import block_rows, days_of_year, replay_rows, year_factors
from towerpace.climate.hours import hours_from
from towerpace.climate.record import Record

START = date(2027, 3, 1)


def blocks(
    n_days: int,
    *,
    seed: int = 5,
    first_day: date = START,
    years: int = 3,
    block_days: int = 7,
    season_days: int = 30,
) -> np.ndarray:
    return block_rows(
        n_days,
        first_day=first_day,
        years=years,
        block_days=block_days,
        season_days=season_days,
        rng=np.random.default_rng(seed),
    )


def made_record(years: int) -> Record:
    """A record whose rain, temperature and thunder are known functions of its wind."""
    speed_m_s = np.random.default_rng(11).weibull(2.0, size=8760 * years) * 6.0
    return Record(
        years=tuple(range(2001, 2001 + years)),
        height_m=10.0,
        speed_m_s=speed_m_s,
        gust_m_s=1.5 * speed_m_s,
        gust_reported=np.ones(len(speed_m_s), dtype=np.bool_),
        temperature_c=20.0 - speed_m_s,
        rain_mm=speed_m_s**2,
        visibility_km=16.0 - speed_m_s / 4,
        thunder=speed_m_s > 9.0,
    )


def test_a_block_of_a_year_in_season_is_the_record_itself(laguardia: Record) -> None:
    rows = blocks(365, first_day=date(2013, 1, 1), years=1, block_days=365, season_days=0)

    hours = hours_from(laguardia, rows, factors=np.ones(365))

    assert np.array_equal(rows, np.arange(365))
    assert np.array_equal(hours.speed_m_s, laguardia.speed_m_s)
    assert np.array_equal(hours.gust_m_s, laguardia.gust_m_s)
    assert hours.rain_mm is not None
    assert laguardia.rain_mm is not None
    assert np.array_equal(hours.rain_mm, laguardia.rain_mm)


def test_dealt_hours_are_made_column_by_column_when_asked_for():
    """Hour h of project day d is hour h of its record day; only wind is multiplied."""
    record, rows, factors = made_record(2), np.array([700, 3, 3, 364]), np.array([1.0, 0.9, 1.1, 1.3])
    hours = hours_from(record, rows, factors=factors)

    assert not set(vars(hours)) & {"gust_m_s", "speed_m_s", "rain_mm", "thunder"}
    for d, (row, factor) in enumerate(zip(rows, factors, strict=True)):
        mine, recorded = slice(24 * d, 24 * d + 24), slice(24 * row, 24 * row + 24)
        assert np.array_equal(hours.values("gust")[mine], record.gust_m_s[recorded] * factor)
        assert np.array_equal(hours.values("mean")[mine], record.speed_m_s[recorded] * factor)
        for variable, column in (
            ("rain", record.rain_mm),
            ("temperature", record.temperature_c),
            ("visibility", record.visibility_km),
            ("thunder", record.thunder),
        ):
            assert column is not None
            assert np.array_equal(hours.values(variable)[mine], column[recorded])
    assert hours.gust_m_s is hours.values("gust")
    bare = replace(record, rain_mm=None, temperature_c=None, visibility_km=None, thunder=None)
    with pytest.raises(ValueError, match="no column of rain"):
        hours_from(bare, rows, factors=factors).values("rain")


def test_days_of_the_year_are_shared_and_locked():
    days = days_of_year(30, first_day=START)
    assert days is days_of_year(30, first_day=START)
    with pytest.raises(ValueError, match="read-only"):
        days[0] = 1


def test_a_constant_record_stays_constant() -> None:
    record = Record(
        years=(2001,),
        height_m=10.0,
        speed_m_s=np.full(8760, 4.0),
        gust_m_s=np.full(8760, 6.0),
        gust_reported=np.ones(8760, dtype=np.bool_),
    )

    hours = hours_from(record, blocks(900, years=1), factors=np.ones(900))

    assert len(hours.speed_m_s) == 900 * 24
    assert (hours.speed_m_s == 4.0).all()
    assert (hours.gust_m_s == 6.0).all()
    assert hours.rain_mm is None


def test_without_a_season_window_every_day_keeps_its_day_of_the_year() -> None:
    rows = blocks(365, season_days=0, years=5)  # March 2027 to February 2028: no 29 February yet

    calendar = [(START + timedelta(days=d)).timetuple().tm_yday - 1 for d in range(365 - 60)]
    assert np.array_equal(rows[: 365 - 60] % 365, calendar)
    assert np.array_equal(rows % 365, days_of_year(365, first_day=START))
    assert set(rows // 365) == {0, 1, 2, 3, 4}


@pytest.mark.parametrize("block_days", [1, 5, 7, 40])
def test_the_days_of_a_block_are_consecutive(block_days: int) -> None:
    rows = blocks(1203, block_days=block_days)

    within = np.arange(1, 1203) % block_days != 0
    assert (np.diff(rows)[within] % (3 * 365) == 1).all()
    assert ((rows >= 0) & (rows < 3 * 365)).all()


def test_a_block_begins_inside_the_season_window_and_reaches_all_of_it() -> None:
    n_blocks = 20_000
    rows = blocks(n_blocks, block_days=1, season_days=30)
    shift = (rows - days_of_year(n_blocks, first_day=START) + 182) % 365 - 182

    assert shift.min() == -30
    assert shift.max() == 30
    # 61 equally likely shifts, 3 years: binomial standard errors.
    counts = np.bincount(shift + 30)
    expected = n_blocks / 61
    assert abs(counts - expected).max() < 4.5 * (expected * (1 - 1 / 61)) ** 0.5
    years = np.bincount(rows // 365) / n_blocks
    assert abs(years - 1 / 3).max() < 4 * (2 / 9 / n_blocks) ** 0.5
    # The year says nothing about the shift.
    assert abs(np.corrcoef(rows // 365, shift)[0, 1]) < 4 / n_blocks**0.5


def test_what_goes_together_in_the_record_stays_together() -> None:
    record = made_record(3)

    hours = hours_from(record, blocks(800), factors=np.ones(800))

    assert hours.rain_mm is not None
    assert hours.temperature_c is not None
    assert hours.visibility_km is not None
    assert hours.thunder is not None
    assert np.array_equal(hours.gust_m_s, 1.5 * hours.speed_m_s)
    assert np.array_equal(hours.rain_mm, hours.speed_m_s**2)
    assert np.array_equal(hours.temperature_c, 20.0 - hours.speed_m_s)
    assert np.array_equal(hours.visibility_km, 16.0 - hours.speed_m_s / 4)
    assert np.array_equal(hours.thunder, hours.speed_m_s > 9.0)


def test_hours_of_a_day_are_never_reordered() -> None:
    record = made_record(3)
    rows = blocks(800)

    hours = hours_from(record, rows, factors=np.ones(800))

    for day in (0, 6, 7, 433, 799):
        begin = 24 * rows[day]
        assert np.array_equal(hours.speed_m_s[24 * day : 24 * day + 24], record.speed_m_s[begin : begin + 24])


def test_a_factor_scales_the_wind_of_its_day_and_nothing_else() -> None:
    record = made_record(1)
    rows = np.array([3, 4, 5])

    plain = hours_from(record, rows, factors=np.ones(3))
    windy = hours_from(record, rows, factors=np.array([1.0, 2.0, 1.0]))

    ratio = np.repeat([1.0, 2.0, 1.0], 24)
    assert np.array_equal(windy.speed_m_s, ratio * plain.speed_m_s)
    assert np.array_equal(windy.gust_m_s, ratio * plain.gust_m_s)
    assert windy.rain_mm is not None
    assert plain.rain_mm is not None
    assert np.array_equal(windy.rain_mm, plain.rain_mm)


@pytest.mark.parametrize("n_days", [1, 6, 7, 8, 365, 1199])
def test_a_longer_project_has_the_same_weather_on_its_first_days(n_days: int) -> None:
    assert np.array_equal(blocks(n_days), blocks(1200)[:n_days])

    short, long = (year_factors(n, sd=0.04, rng=np.random.default_rng(3)) for n in (n_days, 1200))
    assert np.array_equal(short, long[:n_days])


def test_29_february_takes_the_row_of_1_march_and_the_calendar_goes_on() -> None:
    days = days_of_year(4, first_day=date(2028, 2, 28))
    year = days_of_year(366, first_day=date(2028, 1, 1))

    assert days.tolist() == [58, 59, 59, 60]  # 28 February, 29 February, 1 March, 2 March
    assert year[-1] == 364
    assert days_of_year(365, first_day=date(2027, 1, 1)).tolist() == list(range(365))
    # Inside a block the index runs on; the next block is back on the calendar.
    rows = blocks(10, first_day=date(2028, 2, 28), season_days=0, years=1, block_days=5)
    assert rows.tolist() == [58, 59, 60, 61, 62, 62, 63, 64, 65, 66]


def test_replay_plays_the_record_as_it_came_and_wraps_at_its_end() -> None:
    rows = replay_rows(1000, first_day=date(2027, 12, 30), years=2, start_year_index=1)

    assert rows[0] == 365 + 363
    assert rows[:4].tolist() == [728, 729, 0, 1]
    assert (np.diff(rows) % 730 == 1).all()


def test_replay_from_new_year_of_the_first_year_is_the_record() -> None:
    rows = replay_rows(3 * 365, first_day=date(2027, 1, 1), years=3, start_year_index=0)

    assert np.array_equal(rows, np.arange(3 * 365))


@pytest.mark.parametrize("sd", [0.02, 0.04, 0.2])
def test_year_factors_have_mean_one_and_the_lognormal_spread(sd: float) -> None:
    """exp(N(-s^2/2, s)) has mean 1 and standard deviation sqrt(exp(s^2) - 1)."""
    n_years = 40_000
    factors = year_factors(365 * n_years, sd=sd, rng=np.random.default_rng(8))[::365]

    exact_sd = (np.exp(sd**2) - 1) ** 0.5
    assert abs(factors.mean() - 1) < 4 * exact_sd / n_years**0.5
    assert factors.std() == pytest.approx(exact_sd, rel=4 * (0.5 * (1 + sd)) ** 0.5 / n_years**0.5 * 1.5)


def test_a_year_factor_holds_for_365_days_from_the_start() -> None:
    factors = year_factors(800, sd=0.04, rng=np.random.default_rng(8))

    assert len(factors) == 800
    assert np.flatnonzero(np.diff(factors)).tolist() == [364, 729]


def test_no_spread_leaves_the_record_as_it_is() -> None:
    assert (year_factors(800, sd=0.0, rng=np.random.default_rng(8)) == 1.0).all()


def test_counts_out_of_range_are_refused() -> None:
    rng = np.random.default_rng(0)
    with pytest.raises(ValueError, match="n_days, years and block_days must be at least 1, got 0, 3, 7"):
        blocks(0)
    with pytest.raises(ValueError, match="season_days must be from 0 to 182, got 183"):
        blocks(10, season_days=183)
    with pytest.raises(ValueError, match="start_year_index from 0 to years - 1, got 10, 2 of 2"):
        replay_rows(10, first_day=START, years=2, start_year_index=2)
    with pytest.raises(ValueError, match=r"sd at least 0, got 10, -0\.1"):
        year_factors(10, sd=-0.1, rng=rng)
    with pytest.raises(ValueError, match="3 days need as many factors, got 2"):
        hours_from(made_record(1), np.array([1, 2, 3]), factors=np.ones(2))
    with pytest.raises(ValueError, match="a day lies outside the 365 days of the record"):
        hours_from(made_record(1), np.array([365]), factors=np.ones(1))
