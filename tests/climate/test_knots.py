"""Whole knots spread over the knot. Reference shares: the study of this record with a random spread."""

from datetime import date

import numpy as np
import pytest

from support.spells import stopped_share, work_hours
from towerpace.climate.knots import spread_over_the_knot
from towerpace.climate.record import Record

KNOT_M_S = 1852 / 3600


@pytest.mark.parametrize(("limit_m_s", "share"), [(9.0, 0.297), (11.0, 0.142)])
def test_the_spread_record_has_the_shares_of_a_random_spread(
    limit_m_s: float, share: float, laguardia: Record, laguardia_spread: Record
) -> None:
    """All seven days, hours 07 to 16; 0.297 and 0.142 were found with uniform random half knots."""
    work = work_hours(365, first_day=date(2013, 1, 1), weekdays=range(7), from_h=7, to_h=17)

    spread = stopped_share(laguardia_spread.gust_m_s > limit_m_s, work)

    assert spread == pytest.approx(share, abs=0.005)
    assert spread > stopped_share(laguardia.gust_m_s > limit_m_s, work)


def test_the_spread_keeps_calms_gust_order_and_the_mean(laguardia: Record, laguardia_spread: Record) -> None:
    calm = laguardia.speed_m_s == 0
    moved_kt = (laguardia_spread.speed_m_s - laguardia.speed_m_s)[~calm] / KNOT_M_S

    assert calm.any()
    assert (laguardia_spread.speed_m_s[calm] == 0).all()
    assert (laguardia_spread.gust_m_s >= laguardia_spread.speed_m_s).all()
    assert np.array_equal(laguardia.gust_reported, laguardia_spread.gust_reported)
    # An even spread of one knot has standard deviation 1/sqrt(12).
    assert abs(moved_kt.mean()) < 4 * moved_kt.std() / len(moved_kt) ** 0.5
    assert moved_kt.std() == pytest.approx(12**-0.5, rel=0.02)


def test_a_gust_on_the_knot_of_its_speed_stays_on_its_speed() -> None:
    speed_m_s = np.full(5000, 10 * KNOT_M_S)
    gust_m_s = np.where(np.arange(5000) % 2, 10 * KNOT_M_S, 11 * KNOT_M_S)

    speed, gust = spread_over_the_knot(speed_m_s, gust_m_s=gust_m_s)

    assert np.array_equal(gust[1::2], speed[1::2])
    assert (gust[::2] >= speed[::2]).all()
    assert abs(np.corrcoef(gust[::2], speed[::2])[0, 1]) < 4 / 2500**0.5


def test_knots_printed_as_whole_miles_an_hour_come_back_to_their_knot() -> None:
    knots = np.arange(1.0, 90.0)
    printed_m_s = np.round(knots * KNOT_M_S / 0.44704) * 0.44704  # 10 kt is printed as 11 mph

    speed, _ = spread_over_the_knot(printed_m_s, gust_m_s=np.full(len(knots), np.nan))

    assert np.array_equal(np.round(speed / KNOT_M_S - 1e-12), knots)


def test_the_offsets_of_neighbouring_hours_and_of_equal_clock_hours_are_unrelated() -> None:
    n = 8760
    speed, _ = spread_over_the_knot(np.full(n, 10 * KNOT_M_S), gust_m_s=np.full(n, np.nan))

    offset = speed - speed.mean()
    for lag_h in (1, 2, 3, 24, 168):
        correlation = (offset[lag_h:] * offset[:-lag_h]).mean() / offset.var()
        assert abs(correlation) < 4 / n**0.5
