"""Spells counted on simulated chains whose spells are known in closed form, and by hand."""

import math
from datetime import date

import numpy as np
import pytest
from scipy.signal import lfilter

from support.spells import (
    Spells,
    days_by_month,
    days_lost,
    months_of,
    spell_lengths_h,
    spells,
    stopped_share,
    stopped_share_by_month,
    stops_per_week,
    work_hours,
)

MONDAY = date(2027, 3, 1)


def two_state_chain(n_cycles: int) -> np.ndarray:
    """A chain with p(work to stop) = 0.1 and p(stop to work) = 0.25, as runs of geometric lengths."""
    rng = np.random.default_rng(41)
    lengths = np.stack([rng.geometric(0.1, n_cycles), rng.geometric(0.25, n_cycles)], axis=1)
    return np.repeat(np.tile([False, True], n_cycles), lengths.reshape(-1))


def test_a_two_state_chain_has_the_spells_of_its_closed_form() -> None:
    """Share p/(p+q) = 2/7, mean 1/q = 4 h, P(at least 12) = 0.75^11, 12 stops in 168 h."""
    n_cycles = 100_000
    stopped = two_state_chain(n_cycles)

    got, lengths_h = spells(stopped, long_h=12), spell_lengths_h(stopped)

    error_h = 0.75**0.5 / 0.25 / n_cycles**0.5
    assert abs(got.mean_h - 4) < 4 * error_h
    long = 0.75**11
    assert abs((lengths_h >= 12).mean() - long) < 4 * (long * (1 - long) / n_cycles) ** 0.5
    # Of the stopped hours: E[length; length >= n] / E[length] = (1 - q)^(n - 1) (1 + (n - 1) q).
    residual_h = lengths_h * ((lengths_h >= 12) - got.long_share)
    assert abs(got.long_share - long * (1 + 11 * 0.25)) < 4 * residual_h.std() / 4 / n_cycles**0.5
    # Cycle lengths: mean 14 h, variance 90 + 12, so counts are good to 0.23 %.
    cycle_error = (90 + 12) ** 0.5 / 14 / n_cycles**0.5
    assert got.count / len(stopped) * 168 == pytest.approx(12.0, rel=4 * cycle_error)
    # Squared coefficients of variation of the two geometric lengths: 0.75 and 0.9.
    share_error = 5 / 7 * (0.75 + 0.9) ** 0.5 / n_cycles**0.5
    assert stopped.mean() == pytest.approx(2 / 7, rel=4 * share_error)


@pytest.mark.parametrize(
    ("r", "level", "mean_h"),
    [(0.8, 0.0, 4.88203), (0.9, 0.0, 6.96542), (0.95, 0.0, 9.89290), (0.9, 1.0, 3.67556)],
)
def test_a_gaussian_chain_has_the_mean_spell_of_its_orthant_probability(
    r: float, level: float, mean_h: float
) -> None:
    """At the median: 0.5 / (1/4 - asin(r) / (2 pi)), Sheppard 1899; at +1 sd by the bivariate normal."""
    n_chains, n_hours = 40, 40_000
    noise = np.random.default_rng(17).standard_normal((n_chains, n_hours))
    noise[:, 1:] *= math.sqrt(1 - r**2)
    chains = lfilter([1.0], [1.0, -r], noise, axis=1)

    means_h = np.array([spells(chain > level, long_h=12).mean_h for chain in chains])

    error_h = means_h.std(ddof=1) / n_chains**0.5
    assert error_h < 0.01 * mean_h
    assert abs(means_h.mean() - mean_h) < 4 * error_h
    if level == 1.0:
        assert (chains > level).mean() == pytest.approx(0.158655, abs=0.003)


def test_spells_worked_by_hand() -> None:
    bad = np.array([1, 1, 0, 1, 0, 0, 1, 1, 1], dtype=np.bool_)

    assert spell_lengths_h(bad).tolist() == [2, 1, 3]
    assert spells(bad, long_h=3) == Spells(3, 2.0, 2.8, 3, 0.5)
    assert spells(~bad, long_h=3) == Spells(2, 1.5, 1.9, 2, 0.0)
    assert spells(np.zeros(9, dtype=np.bool_), long_h=3) == Spells(0, 0.0, 0.0, 0, 0.0)
    assert spells(np.ones(9, dtype=np.bool_), long_h=3) == Spells(1, 9.0, 9.0, 9, 1.0)
    assert spells(np.zeros(0, dtype=np.bool_), long_h=3).count == 0


def test_work_hours_of_a_week() -> None:
    work = work_hours(14, first_day=MONDAY, weekdays=range(6), from_h=7, to_h=17)

    assert work.sum() == 12 * 10
    assert np.flatnonzero(work[:24]).tolist() == list(range(7, 17))
    assert not work[24 * 6 : 24 * 7].any()  # Sunday
    sunday_first = work_hours(7, first_day=date(2027, 3, 7), weekdays=[6], from_h=0, to_h=24)
    assert np.flatnonzero(sunday_first).tolist() == list(range(24))


def test_a_stop_over_the_night_counts_on_both_days_and_a_stop_by_night_on_none() -> None:
    work = work_hours(7, first_day=MONDAY, weekdays=range(6), from_h=7, to_h=17)
    bad = np.zeros(7 * 24, dtype=np.bool_)
    bad[16 : 24 + 9] = True  # Monday's last work hour to Tuesday 09:00
    bad[48:54] = True  # Wednesday before dawn
    bad[72 + 8], bad[72 + 10] = True, True  # Thursday twice
    bad[24 * 6 :] = True  # Sunday

    assert stops_per_week(bad, work, days_a_week=6) == 4
    assert stopped_share(bad, work) == pytest.approx(5 / 60)
    assert np.flatnonzero(days_lost(bad, work, from_h=2)).tolist() == [1, 3]


def test_with_work_round_the_clock_a_stop_over_midnight_counts_on_both_days() -> None:
    work = work_hours(2, first_day=MONDAY, weekdays=range(7), from_h=0, to_h=24)
    bad = np.zeros(48, dtype=np.bool_)
    bad[20:30] = True

    assert stops_per_week(bad, work, days_a_week=2) == 2


def test_months_follow_the_calendar_of_the_project() -> None:
    months = months_of(400, first_day=date(2027, 12, 31))

    assert months[:2].tolist() == [11, 0]
    assert np.bincount(months).tolist() == [31 + 31, 29 + 2, 31, 30, 31, 30, 31, 31, 30, 31, 30, 1 + 31]
    lost = np.zeros(400, dtype=np.bool_)
    lost[[0, 1, 2, 399]] = True
    assert days_by_month(lost, months=months).tolist() == [2, 1, *[0] * 9, 1]


def test_the_share_of_a_month_without_work_is_no_number() -> None:
    work = work_hours(59, first_day=date(2027, 1, 1), weekdays=range(7), from_h=8, to_h=10)
    bad = np.zeros(59 * 24, dtype=np.bool_)
    bad[: 15 * 24] = True

    shares = stopped_share_by_month(bad, work, months=months_of(59, first_day=date(2027, 1, 1)))

    assert shares[:2].tolist() == [pytest.approx(15 / 31), 0.0]
    assert np.isnan(shares[2:]).all()
