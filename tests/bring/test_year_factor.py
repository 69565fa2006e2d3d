"""The year factor measured on several years, against years that the generator itself makes with it."""

import math

import numpy as np
import pytest

from towerpace.bring.weather.year_factor import blocks_sd, year_factor_of
from towerpace.climate.generate import block_rows, year_factors
from towerpace.climate.record import Record
from towerpace.draws import stream

N_YEARS = 17


def record_of(sd, *, years=N_YEARS, seed=1):
    """Hours around a season, days that hang together, and years that differ by a factor of that sd."""
    rng = stream(seed, 0, "record")
    days = np.arange(365 * years)
    weather = np.empty(len(days))
    weather[0] = 0.0
    for k, push in enumerate(rng.standard_normal(len(days) - 1), 1):
        weather[k] = 0.5 * weather[k - 1] + push
    factor = np.exp(sd * rng.standard_normal(years) - sd**2 / 2)
    daily = np.maximum(5 + np.cos(2 * math.pi * days / 365) + 1.2 * weather, 0.1) * np.repeat(factor, 365)
    speed = np.repeat(daily, 24)
    return Record(
        tuple(range(2000, 2000 + years)), 10.0, speed, 1.33 * speed, np.zeros(len(speed), dtype=bool)
    )


def generated_means(record, *, sd, trials):
    """Annual means of years dealt in blocks, with a factor."""
    from datetime import date

    daily = record.speed_m_s.reshape(-1, 24).mean(axis=1)
    means = []
    for trial in range(trials):
        rows = block_rows(
            365,
            first_day=date(2027, 1, 1),
            years=len(record.years),
            block_days=7,
            season_days=30,
            rng=stream(2, trial, "blocks"),
        )
        factors = year_factors(365, sd=sd, rng=stream(2, trial, "years"))
        means.append((daily[rows] * factors).mean())
    return np.log(means)


def test_what_blocks_scatter_is_what_the_generator_scatters():
    record = record_of(0.04)
    daily = record.speed_m_s.reshape(-1, 24).mean(axis=1)
    made = generated_means(record, sd=0.0, trials=1500).std(ddof=1)
    exact = blocks_sd(daily, block_days=7, season_days=30)
    assert made == pytest.approx(exact, abs=4 * exact / math.sqrt(2 * 1500))


def test_years_with_the_measured_factor_differ_as_those_of_the_record():
    """A year to come: the record's own scatter, and that of the mean of its years."""
    record = record_of(0.05)
    found = year_factor_of(record)
    made = generated_means(record, sd=found.year_factor_sd, trials=1500).std(ddof=1)
    target = found.measured_sd * math.sqrt(1 + 1 / N_YEARS)
    assert found.year_factor_sd > 0.02
    assert made == pytest.approx(target, abs=4 * target / math.sqrt(2 * 1500))


def test_the_interval_covers_the_planted_spread_as_often_as_it_says():
    """Daily weather adds a little of its own to the planted 4 %, which is taken off before."""
    calm = np.mean([year_factor_of(record_of(0.0, seed=seed)).measured_sd for seed in range(100, 120)])
    truth = math.hypot(0.04, calm)
    covered = [
        found.low <= truth <= found.high
        for found in (year_factor_of(record_of(0.04, years=6, seed=seed)) for seed in range(60))
    ]
    share = np.mean(covered)
    assert abs(share - 0.9) < 3 * math.sqrt(0.9 * 0.1 / 60)


def test_years_that_do_not_differ_need_no_factor():
    assert year_factor_of(record_of(0.0)).year_factor_sd < 0.02


def test_one_year_says_nothing():
    with pytest.raises(ValueError, match="says nothing of how years differ"):
        year_factor_of(record_of(0.04, years=1))


def test_two_years_of_files_are_dealt_out_with_their_years_and_the_factor_is_measured(bring):
    import datetime as dt

    from bring import weather_files as files

    rows = files.rows()
    both = [
        files.Row(row.hour + dt.timedelta(days=365 * k), row.speed * factor, None, row.temperature, 0, 16)
        for k, factor in ((0, 1.0), (1, 1.1))
        for row in rows
    ]
    words = ["--format", "epw", "--gusts", "none", "--height", 10]
    files.epw("13.epw", of=both[:8760])
    files.epw("14.epw", of=both[8760:])
    run = bring("weather", "13.epw", "14.epw", *words, "--missing-gust-factor", 1.33, "--gust-limit", 9)
    assert "17,520 hours of 2013 to 2014" in run.text
    assert "(631 to " in run.text
    assert "Year factor, measured on 2 years" in run.text
    # The logarithms of the two means are ln 1.1 apart: a standard deviation of that over the root of 2.
    assert f"annual means differ by {100 * math.log(1.1) / math.sqrt(2):.1f} %" in run.text
    assert "year_factor_sd = 0.0" in run.text
    assert "! 2 years say little of how years differ" in run.text
