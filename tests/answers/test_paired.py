"""Intervals of paired differences where most differences are nothing and a few are large."""

import numpy as np
import pytest

from towerpace.answers.choice.paired import paired_difference, percentile_difference, skewed_difference

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


def rare_gains(rng, *, trials):
    """Finish with an addition that gains 4.7 d in 2.5 % of the trials, and without. [min]"""
    without = np.rint(rng.gamma(4, 7200, trials)).astype(np.int64)
    return without - 6768 * (rng.random(trials) < 0.025), without


def test_a_gain_in_few_trials_is_bounded_as_often_as_stated():
    """Truth: 4.7 d in 2.5 % of the trials are 169.2 min in the mean; of runs in which any trial gains.

    Student's interval of a single gain happens to hold it, while the bootstrap-t held it in half of the runs.
    """
    rng = np.random.default_rng(2)
    held = []
    for _ in range(200):
        own, base = rare_gains(rng, trials=50)
        told = skewed_difference(own / 1.0, base / 1.0, rng=rng)
        if told.sd > 0:
            held.append(told.low <= -169.2 <= told.high)
    assert len(held) > 100
    assert np.mean(held) >= 0.95 - 4 * (0.05 * 0.95 / len(held)) ** 0.5


def test_a_p80_that_few_trials_move_is_bounded_as_often_as_stated():
    """Truth from a million trials."""
    rng = np.random.default_rng(4)
    own, base = (np.quantile(x, 0.8) for x in rare_gains(rng, trials=1_000_000))
    held = []
    for _ in range(120):
        few = rare_gains(rng, trials=100)
        told = percentile_difference(*few, 0.8, rng=rng, resamples=200)
        if told.sd > 0:
            held.append(told.low <= own - base <= told.high)
    assert len(held) > 90
    assert np.mean(held) >= 0.95 - 4 * (0.05 * 0.95 / len(held)) ** 0.5


def test_gains_and_losses_in_few_trials_mirror_each_other():
    single = np.zeros(40)
    single[:4] = -1.0, -2.0, -3.0, 1.5
    rng = np.random.default_rng(1)
    told = skewed_difference(single, np.zeros(40), rng=rng)
    turned = skewed_difference(-single, np.zeros(40), rng=rng)
    assert (told.mean, told.low, told.high) == pytest.approx((-turned.mean, -turned.high, -turned.low))
    assert told.low < told.mean < told.high


def test_where_no_trial_differs_the_spread_says_that_nothing_is_known():
    finish = np.arange(50) * 1440
    told = percentile_difference(finish, finish.copy(), 0.8, rng=np.random.default_rng(1))
    assert (told.mean, told.sd) == (0.0, 0.0)
