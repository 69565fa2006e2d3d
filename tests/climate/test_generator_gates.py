"""Acceptance of the block generator on the real record: a thousand years of it against the one it came from.

Work hours 07 to 16 on all seven days. The gates were set when the method was chosen: share stopped within
half a point of the record's, mean spell 0.96 to 1.02 of it, stops 0.98 to 1.02, days lost within 2 %.
"""

from datetime import date
from functools import lru_cache

import numpy as np
import pytest

from support.spells import days_lost, spells, stopped_share, stops_per_week, work_hours
from towerpace.climate.generate import block_rows, year_factors
from towerpace.climate.hours import hours_from
from towerpace.climate.record import Record

NEW_YEAR = date(2013, 1, 1)
N_RUNS = 1000
WORK = work_hours(365, first_day=NEW_YEAR, weekdays=range(7), from_h=7, to_h=17)


def measures(record: Record, *, rows: np.ndarray, factors: np.ndarray, limit_m_s: float) -> list[float]:
    bad = hours_from(record, rows, factors=factors).gust_m_s > limit_m_s
    got = spells(bad, long_h=12)
    return [
        stopped_share(bad, WORK),
        got.mean_h,
        got.long_share,
        stops_per_week(bad, WORK, days_a_week=6),
        float(days_lost(bad, WORK, from_h=5).sum()),
    ]


def as_recorded(record: Record, limit_m_s: float) -> np.ndarray:
    return np.array(measures(record, rows=np.arange(365), factors=np.ones(365), limit_m_s=limit_m_s))


@lru_cache
def runs(record: Record, limit_m_s: float, sd: float) -> np.ndarray:
    """Measures of a thousand simulated years, shape (1000, 5)."""
    weather, years = np.random.default_rng(2013), np.random.default_rng(31)
    return np.array(
        [
            measures(
                record,
                rows=block_rows(365, first_day=NEW_YEAR, years=1, block_days=7, season_days=30, rng=weather),
                factors=year_factors(365, sd=sd, rng=years),
                limit_m_s=limit_m_s,
            )
            for _ in range(N_RUNS)
        ]
    )


@pytest.mark.slow
@pytest.mark.parametrize("limit_m_s", [9.0, 11.0])
def test_the_generator_passes_its_gates(limit_m_s: float, laguardia: Record) -> None:
    share, mean_h, _, stops, days = runs(laguardia, limit_m_s, 0.0).mean(axis=0)
    record_share, record_mean_h, _, record_stops, record_days = as_recorded(laguardia, limit_m_s)

    assert abs(share - record_share) < 0.005
    assert 0.96 < mean_h / record_mean_h < 1.02
    assert 0.98 < stops / record_stops < 1.02
    assert abs(days / record_days - 1) < 0.02


@pytest.mark.slow
@pytest.mark.parametrize(
    ("limit_m_s", "means", "share_sd"),
    [(9.0, [0.289, 4.06, 0.440, 5.34], 0.020), (11.0, [0.135, 3.29, 0.262, 2.82], 0.014)],
)
def test_the_runs_agree_with_those_of_an_independent_program(
    limit_m_s: float, means: list[float], share_sd: float, laguardia: Record
) -> None:
    """Two sets of 1,000 runs: means differ by at most 4 sqrt(2) standard errors, beside the rounding."""
    got = runs(laguardia, limit_m_s, 0.0)
    errors = 4 * 2**0.5 * got.std(axis=0, ddof=1) / N_RUNS**0.5

    for place, rounding in enumerate([0.0005, 0.005, 0.0005, 0.005]):
        assert abs(got[:, place].mean() - means[place]) < errors[place] + rounding
    # The standard error of a standard deviation is sd / sqrt(2 n).
    assert got[:, 0].std(ddof=1) == pytest.approx(share_sd, abs=0.0005 + 4 * share_sd / N_RUNS**0.5)


@pytest.mark.slow
@pytest.mark.parametrize(("limit_m_s", "share_sd"), [(9.0, 0.040), (11.0, 0.029)])
def test_the_year_factor_widens_the_years_to_the_published_spread(
    limit_m_s: float, share_sd: float, laguardia: Record
) -> None:
    got_sd = runs(laguardia, limit_m_s, 0.04)[:, 0].std(ddof=1)

    assert got_sd == pytest.approx(share_sd, abs=0.0005 + 4 * share_sd / N_RUNS**0.5)


@pytest.mark.slow
@pytest.mark.parametrize("limit_m_s", [9.0, 11.0])
def test_the_year_factor_moves_the_mean_of_whole_knots_but_not_of_spread_ones(
    limit_m_s: float, laguardia: Record, laguardia_spread: Record
) -> None:
    """13 kt x 1.33 is just under 9 m/s, so that any factor lifts it over: 0.6 to 0.8 points; spread, none."""
    knots_shift, spread_shift = (
        runs(record, limit_m_s, 0.04)[:, 0].mean() - runs(record, limit_m_s, 0.0)[:, 0].mean()
        for record in (laguardia, laguardia_spread)
    )

    error = 0.04 / N_RUNS**0.5
    assert knots_shift == pytest.approx(0.007, abs=0.001 + 4 * error)
    assert abs(spread_shift) < 0.002 + 4 * error
    assert spread_shift < knots_shift


@pytest.mark.slow
@pytest.mark.parametrize("limit_m_s", [9.0, 11.0])
def test_runs_of_the_spread_record_keep_its_share(limit_m_s: float, laguardia_spread: Record) -> None:
    share = runs(laguardia_spread, limit_m_s, 0.0)[:, 0].mean()

    assert share == pytest.approx(as_recorded(laguardia_spread, limit_m_s)[0], abs=0.005)
