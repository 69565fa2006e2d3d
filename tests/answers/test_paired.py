"""Intervals of paired differences where most differences are nothing and a few are large."""

import numpy as np
import pytest

from towerpace.answers.choice.paired import paired_difference, skewed_difference

RUNS, TRIALS = 600, 20


def covers(interval, rng):
    """Share of runs whose interval holds the true mean -1 of a gain that is nothing in half of the trials."""
    hits = 0
    for _ in range(RUNS):
        gains = np.where(rng.random(TRIALS) < 0.5, 0.0, -rng.exponential(2.0, TRIALS))
        found = interval(gains, np.zeros(TRIALS))
        hits += found.low <= -1.0 <= found.high
    return hits / RUNS


@pytest.mark.slow
def test_the_skewed_interval_covers_where_the_paired_t_does_not():
    """Standard error of a share of 0.95 over 600 runs: 0.009."""
    skewed = covers(
        lambda a, b: skewed_difference(a, b, rng=np.random.default_rng(3)), np.random.default_rng(1)
    )
    plain = covers(paired_difference, np.random.default_rng(1))
    assert skewed >= 0.95 - 4 * 0.009
    assert plain < skewed


def test_without_spread_the_interval_is_the_difference():
    found = skewed_difference(np.full(9, 3.0), np.ones(9), rng=np.random.default_rng(1))
    assert (found.mean, found.low, found.high) == (2.0, 2.0, 2.0)


def test_without_skew_it_is_close_to_the_paired_t():
    rng = np.random.default_rng(5)
    a = rng.standard_normal(200)
    t, skewed = paired_difference(a, np.zeros(200)), skewed_difference(a, np.zeros(200), rng=rng)
    assert skewed.low == pytest.approx(t.low, abs=0.1 * (t.high - t.low))
    assert skewed.high == pytest.approx(t.high, abs=0.1 * (t.high - t.low))
