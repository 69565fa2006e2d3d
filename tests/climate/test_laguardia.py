"""The real record against values computed apart from this code when the record was made.

Monday to Saturday, hours 07 to 16; a stop where R x gust > L; gusts as reported, else 1.33 x mean; spells
over all hours. The record is taken as printed, in whole knots.
"""

from dataclasses import dataclass
from datetime import date

import numpy as np
import pytest
from scipy.stats import weibull_min

from support.spells import (
    days_by_month,
    days_lost,
    months_of,
    spells,
    stopped_share,
    stopped_share_by_month,
    stops_per_week,
    work_hours,
)
from towerpace.climate.height import gust_ratio
from towerpace.climate.hours import Hours, hours_from
from towerpace.climate.limits import HourLimit, stopped
from towerpace.climate.record import Record
from towerpace.units import Flags

NEW_YEAR = date(2013, 1, 1)


@dataclass(frozen=True)
class Row:
    limit_m_s: float
    ratio: float
    stopped_h: int
    percent: float
    count: int
    mean_h: float
    p90_h: float
    longest_h: int
    long_share: float
    stops_a_week: float
    days: int
    by_month: str


TABLE = [
    Row(9, 1, 897, 28.66, 512, 4.082, 10, 51, 0.4483, 5.310, 87, "8 10 12 10 5 7 3 3 2 9 10 8"),
    Row(11, 1, 412, 13.16, 307, 3.300, 8, 29, 0.2675, 2.818, 40, "4 6 8 6 1 1 0 1 1 6 5 1"),
    Row(15, 1, 61, 1.95, 68, 2.426, 5, 15, 0.1697, 0.575, 4, "1 1 1 0 1 0 0 0 0 0 0 0"),
    Row(9, 0.8267, 432, 13.80, 332, 3.229, 8, 29, 0.2826, 2.971, 42, "4 6 8 6 1 2 0 1 1 6 5 2"),
    Row(9, 1.1875, 1274, 40.70, 654, 4.442, 11, 57, 0.4823, 7.150, 128, "13 10 16 14 8 11 12 6 5 10 13 10"),
]


@pytest.fixture(scope="module")
def hours(laguardia: Record) -> Hours:
    return hours_from(laguardia, np.arange(365), factors=np.ones(365))


@pytest.fixture(scope="module")
def work() -> Flags:
    return work_hours(365, first_day=NEW_YEAR, weekdays=range(6), from_h=7, to_h=17)


@pytest.mark.parametrize("row", TABLE, ids=lambda row: f"{row.limit_m_s} m/s at ratio {row.ratio}")
def test_the_stops_of_the_record_are_those_of_the_table(row: Row, hours: Hours, work: Flags) -> None:
    bad = stopped(hours, HourLimit("gusts", "gust", row.limit_m_s, None, row.ratio, 0, "wind"))

    lost = days_lost(bad, work, from_h=5)
    assert work.sum() == 3130
    assert np.count_nonzero(bad & work) == row.stopped_h
    assert 100 * stopped_share(bad, work) == pytest.approx(row.percent, abs=0.005)
    got = spells(bad, long_h=12)
    assert (got.count, got.p90_h, got.longest_h) == (row.count, row.p90_h, row.longest_h)
    assert got.mean_h == pytest.approx(row.mean_h, abs=0.0005)
    assert got.long_share == pytest.approx(row.long_share, abs=0.00005)
    assert stops_per_week(bad, work, days_a_week=6) == pytest.approx(row.stops_a_week, abs=0.0005)
    assert lost.sum() == row.days
    months = months_of(365, first_day=NEW_YEAR)
    assert " ".join(map(str, days_by_month(lost, months=months))) == row.by_month


def test_rain_and_cold_hours_of_the_record(hours: Hours, work: Flags) -> None:
    # Rain comes in steps of 0.254 mm, so that above 0.5 is at least 0.51.
    rain = stopped(hours, HourLimit("rain", "rain", 0.5, None, 1.0, 0, "rain"))
    cold = stopped(hours, HourLimit("cold", "temperature", None, 5.0, 1.0, 0, "cold"))
    wind = stopped(hours, HourLimit("wind", "gust", 9.0, None, 1.0, 0, "wind"))

    assert np.count_nonzero(rain & work) == 182
    assert np.count_nonzero(cold & work) == 715
    assert np.count_nonzero((wind | rain) & work) == 1016


@pytest.mark.parametrize(("lag_h", "r"), [(1, 0.818), (3, 0.677), (6, 0.515), (24, 0.210), (48, 0.133)])
def test_the_speeds_follow_each_other_as_in_the_table(lag_h: int, r: float, laguardia: Record) -> None:
    speed = laguardia.speed_m_s - laguardia.speed_m_s.mean()

    got = (speed[lag_h:] * speed[:-lag_h]).sum() / (speed**2).sum()

    assert got == pytest.approx(r, abs=0.0015)


@pytest.mark.parametrize(
    ("first_month", "last_month", "shape", "scale_m_s"),
    [(0, 0, 2.304, 6.042), (6, 6, 3.083, 4.902), (0, 11, 2.327, 5.609)],
)
def test_the_speeds_have_the_weibull_fit_of_the_table(
    first_month: int, last_month: int, shape: float, scale_m_s: float, laguardia: Record
) -> None:
    """Maximum likelihood, location 0, calms left out; the fit is scipy's."""
    month = np.repeat(months_of(365, first_day=NEW_YEAR), 24)
    speed_m_s = laguardia.speed_m_s[(month >= first_month) & (month <= last_month)]

    got_shape, _, got_scale = weibull_min.fit(speed_m_s[speed_m_s > 0], floc=0)

    assert got_shape == pytest.approx(shape, abs=0.001)
    assert got_scale == pytest.approx(scale_m_s, abs=0.001)


def test_the_fit_misses_a_tail_that_the_record_has(laguardia: Record) -> None:
    """Why rows are drawn and not a fitted law: P(U > 9 m/s) is 0.0475 by the fit, 0.0543 in the record."""
    calm = np.mean(laguardia.speed_m_s == 0)

    assert calm == pytest.approx(0.0409, abs=0.00005)
    assert np.mean(laguardia.speed_m_s > 9) == pytest.approx(0.0543, abs=0.00005)
    assert (1 - calm) * np.exp(-((9 / 5.609) ** 2.327)) == pytest.approx(0.0475, abs=0.0005)


@pytest.mark.parametrize(
    ("level", "percent"), [(1, 94), (5, 86), (10, 75), (15, 69), (20, 65), (30, 61), (40, 58), (50, 56)]
)
def test_the_workable_share_falls_with_height_as_in_the_table(
    level: int, percent: int, laguardia_spread: Record, work: Flags
) -> None:
    """Gusts up to 9 m/s, EN terrain IV, floors of 3.8 m, record spread over its knots at random there."""
    ratio = gust_ratio(3.8 * level, law="en1991", exposure="IV")

    share = stopped_share(ratio * laguardia_spread.gust_m_s > 9, work)

    assert 100 * (1 - share) == pytest.approx(percent, abs=1.0)


@pytest.mark.parametrize("cell", [(2, 5, 68), (2, 40, 38), (8, 5, 97), (8, 40, 72)])
def test_the_workable_share_of_a_month_is_that_of_the_table(
    cell: tuple[int, int, int], laguardia: Record, laguardia_spread: Record, work: Flags
) -> None:
    """March and September. Two random spreads differ in the hours whose knot the limit divides: each falls
    on either side with a standard deviation of at most a half, so n of them differ by sqrt(n / 2).
    """
    month, level, percent = cell
    ratio = gust_ratio(3.8 * level, law="en1991", exposure="IV")
    months = months_of(365, first_day=NEW_YEAR)
    in_month = work & (np.repeat(months, 24) == month)
    divided = in_month & (np.abs(laguardia.gust_m_s - 9 / ratio) < 0.5 * 1.33 * 1852 / 3600)

    share = stopped_share_by_month(ratio * laguardia_spread.gust_m_s > 9, work, months=months)[month]

    tolerance_h = 3 * (divided.sum() / 2) ** 0.5
    assert 100 * (1 - share) == pytest.approx(percent, abs=0.5 + 100 * tolerance_h / in_month.sum())
    assert tolerance_h < 0.06 * in_month.sum()
