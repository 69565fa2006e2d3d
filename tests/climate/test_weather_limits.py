"""Limits on hours, against Weibull closed forms and spans worked by hand."""

import math
import re

import numpy as np
import pytest

from towerpace.climate.height import mean_ratio
from towerpace.climate.hours import Hours, Variable
from towerpace.climate.limits import Cause, HourLimit, stop_spans, stopped

N = 200_000


def limit(
    variable: Variable = "gust",
    *,
    above: float | None = None,
    below: float | None = None,
    ratio: float = 1.0,
    restart_min: int = 0,
    cause: Cause = "wind",
) -> HourLimit:
    return HourLimit("lift", variable, above, below, ratio, restart_min, cause)


def weibull_hours(*, shape: float, scale_m_s: float) -> Hours:
    """Hours whose winds are the N even quantiles of a Weibull law, so that a share is exact to 1/N."""
    chance = (np.arange(N) + 0.5) / N
    speed_m_s = scale_m_s * (-np.log(chance)) ** (1 / shape)
    return Hours(speed_m_s=speed_m_s, gust_m_s=1.4 * speed_m_s)


@pytest.mark.parametrize(
    ("shape", "scale_m_s", "ratio", "limit_m_s", "share"),
    [
        (2.0, 6.0, 1.0, 9.0, 0.105399),
        (2.0, 6.0, 1.0, 7.0, 0.256376),
        (1.9, 5.5, 1.187, 9.0, 0.158752),
        # A mean of 6 m/s: scale 6 / Gamma(1 + 1/shape); shares from scipy.stats.weibull_min.
        (2.0, 6 / math.gamma(1.5), 1.0, 12.5, 0.033079),
        (1.6, 6 / math.gamma(1.625), 1.0, 9.0, 0.200586),
        (2.4, 6 / math.gamma(1 + 1 / 2.4), 1.0, 16.0, 0.000377),
    ],
)
def test_the_stopped_share_of_weibull_winds_is_the_exceedance(
    shape: float, scale_m_s: float, ratio: float, limit_m_s: float, share: float
) -> None:
    """P(R U > L) = exp(-(L / (R c))^k)."""
    hours = weibull_hours(shape=shape, scale_m_s=scale_m_s)

    got = stopped(hours, limit("mean", above=limit_m_s, ratio=ratio)).mean()

    assert got == pytest.approx(share, abs=1e-6 + 1 / N)


def test_height_and_gust_compound() -> None:
    """Mean 5 m/s at 10 m, k = 2, exponent 0.22, 200 m, gust factor 1.4: closed form of the Weibull law."""
    hours = weibull_hours(shape=2.0, scale_m_s=5 / math.gamma(1.5))
    ratio = mean_ratio(200, law="power", exponent=0.22)

    assert stopped(hours, limit("mean", above=12.5, ratio=ratio)).mean() == pytest.approx(0.26881, abs=2e-5)
    assert stopped(hours, limit("gust", above=12.5, ratio=ratio)).mean() == pytest.approx(0.51156, abs=2e-5)
    assert stopped(hours, limit("mean", above=12.5)).mean() == pytest.approx(0.00738, abs=2e-5)


def test_a_value_on_the_limit_does_not_break_it() -> None:
    wind = np.array([8.9, 9.0, 9.1])
    hours = Hours(wind, wind, temperature_c=np.array([4.9, 5.0, 5.1]))

    assert stopped(hours, limit(above=9.0)).tolist() == [False, False, True]
    assert stopped(hours, limit("temperature", below=5.0, cause="cold")).tolist() == [True, False, False]


def test_each_variable_reads_its_own_column() -> None:
    hours = Hours(
        speed_m_s=np.array([1.0, 0, 0, 0, 0, 0]),
        gust_m_s=np.array([0, 1.0, 0, 0, 0, 0]),
        temperature_c=np.array([0, 0, 1.0, 0, 0, 0]),
        rain_mm=np.array([0, 0, 0, 1.0, 0, 0]),
        visibility_km=np.array([0, 0, 0, 0, 1.0, 0]),
        thunder=np.array([False, False, False, False, False, True]),
    )
    variables: tuple[Variable, ...] = ("mean", "gust", "temperature", "rain", "visibility", "thunder")

    for place, variable in enumerate(variables):
        assert np.flatnonzero(stopped(hours, limit(variable, above=0.5))).tolist() == [place]


def test_a_limit_on_a_column_that_the_record_has_not_is_refused() -> None:
    hours = Hours(np.zeros(3), np.zeros(3))

    with pytest.raises(ValueError, match="the weather record has no column of rain"):
        stopped(hours, limit("rain", above=0.5, cause="rain"))


@pytest.mark.parametrize(
    ("bad_hours", "restart_min", "spans"),
    [
        ([], 30, []),
        ([0], 0, [(0, 60)]),
        ([2, 3, 4], 0, [(120, 300)]),
        ([2, 3, 4], 20, [(120, 320)]),
        ([2, 4], 0, [(120, 180), (240, 300)]),
        ([2, 4], 59, [(120, 239), (240, 359)]),
        ([2, 4], 60, [(120, 360)]),  # the wait ends as the next bad hour begins
        ([2, 4], 90, [(120, 390)]),
        ([1, 4, 9], 150, [(60, 450), (540, 750)]),
        ([9], 45, [(540, 645)]),  # runs past the last hour
        (list(range(10)), 0, [(0, 600)]),
    ],
)
def test_stop_spans_worked_by_hand(
    bad_hours: list[int], restart_min: int, spans: list[tuple[int, int]]
) -> None:
    bad = np.zeros(10, dtype=np.bool_)
    bad[bad_hours] = True

    got = stop_spans(bad, restart_min)

    assert got.dtype == np.int64
    assert got.shape == (len(spans), 2)
    assert [tuple(span) for span in got.tolist()] == spans


@pytest.mark.parametrize("restart_min", [0, 1, 59, 60, 61, 200])
def test_stop_spans_cover_the_minutes_that_a_minute_by_minute_rule_covers(restart_min: int) -> None:
    """Independent rule: a minute is stopped if its hour is bad or a bad hour ended less than the wait ago."""
    bad = np.random.default_rng(20).random(400) < 0.3
    expected = np.zeros(400 * 60 + restart_min, dtype=np.bool_)
    for hour in np.flatnonzero(bad):
        expected[60 * hour : 60 * (hour + 1) + restart_min] = True

    covered = np.zeros_like(expected)
    spans = stop_spans(bad, restart_min)
    for begin, end in spans:
        covered[begin:end] = True

    assert np.array_equal(covered, expected)
    assert (spans[1:, 0] > spans[:-1, 1]).all()


@pytest.mark.parametrize(
    ("above", "below", "ratio", "restart_min", "text"),
    [
        (None, None, 1.0, 0, "exactly one of above and below, got None and None"),
        (1.0, 0.0, 1.0, 0, "exactly one of above and below, got 1.0 and 0.0"),
        (9.0, None, 0.0, 0, "ratio must be above 0, and 1 unless on gust or mean, got 0.0 on gust"),
        (9.0, None, 1.0, -5, "restart_min must be at least 0, got -5"),
    ],
)
def test_a_limit_that_makes_no_sense_is_refused(
    above: float | None, below: float | None, ratio: float, restart_min: int, text: str
) -> None:
    with pytest.raises(ValueError, match=f"^limit lift: {re.escape(text)}$"):
        limit(above=above, below=below, ratio=ratio, restart_min=restart_min)


def test_only_wind_is_scaled_with_height() -> None:
    with pytest.raises(ValueError, match=re.escape("1 unless on gust or mean, got 1.2 on rain")):
        limit("rain", above=0.5, ratio=1.2)
