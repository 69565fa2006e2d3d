"""Chances learned by counting, and paces learned from counts alone: by hand and against closed forms."""

import numpy as np
import pytest
from scipy.stats import beta

from towerpace.answers.learn.chances import Chance
from towerpace.answers.learn.counts import UNTOLD, from_counts, shifted


def test_beta_arithmetic_by_hand():
    """Worth four events: 2 % is Beta(4, 196); 3 broken of 50 exposed make it Beta(7, 243), mean 7 / 250."""
    learned = Chance.stated(0.02).seen(events=3, exposed=50)
    assert (learned.events, learned.others) == pytest.approx((7.0, 243.0))
    assert learned.mean == pytest.approx(0.028)


def test_girls_of_placenta_previa():
    """437 of 980 births under a uniform prior: 0.446 (0.415 to 0.477).

    A. Gelman et al., Bayesian Data Analysis, section 2.4 (from memory).
    """
    learned = Chance(1, 1).seen(events=437, exposed=980)
    low, high = learned.quantile(np.array([0.025, 0.975]))
    assert (round(learned.mean, 3), round(float(low), 3), round(float(high), 3)) == (0.446, 0.415, 0.477)


@pytest.mark.parametrize(("low", "high"), [(0.005, 0.04), (0.2, 0.6), (0.9, 0.99), (0.01, 0.011)])
def test_a_stated_range_of_a_chance_is_its_p10_and_p90(low, high):
    law = Chance.between(low, high)
    assert beta.ppf([0.1, 0.9], law.events, law.others) == pytest.approx([low, high], rel=1e-6)


def test_a_certain_chance_stays_and_impossible_counts_are_refused():
    assert Chance.stated(0.0).seen(events=2, exposed=9).mean == 0.0
    assert Chance.stated(1.0).quantile(np.array([0.1, 0.9])).tolist() == [1.0, 1.0]
    with pytest.raises(ValueError, match="5 events among 3"):
        Chance.stated(0.1).seen(events=5, exposed=3)
    with pytest.raises(ValueError, match="0 < low < high < 1"):
        Chance.between(0.3, 0.2)


def linear(n=4000):
    """Two paces and three counts that follow from them in straight lines, all normal."""
    rng = np.random.Generator(np.random.PCG64(5))
    logs = rng.multivariate_normal([0.05, 0.1], [[0.01, 0.004], [0.004, 0.02]], size=n)
    slopes = np.array([[-300.0, 0.0, -90.0], [0.0, -200.0, -150.0]])
    return logs, slopes, 500 + logs @ slopes


def test_in_a_linear_normal_case_the_ensemble_step_gives_the_kalman_update():
    """The oracle is the posterior of a normal law with covariance P, observed through H with noise R."""
    logs, slopes, counts = linear()
    seen = np.array([470.0, 520.0, 480.0])
    moved = np.log(shifted(np.exp(logs), counts, seen=seen))
    mean, covariance = logs.mean(axis=0), np.cov(logs.T, bias=True)
    noise = UNTOLD * np.diag(counts.var(axis=0))
    gain = covariance @ slopes @ np.linalg.inv(slopes.T @ covariance @ slopes + noise)
    exact = mean + gain @ (seen - 500 - mean @ slopes)
    assert moved.mean(axis=0) == pytest.approx(exact, abs=1e-9)
    assert (moved.std(axis=0) < 0.5 * logs.std(axis=0)).all()


def test_counts_alike_in_all_trials_say_nothing():
    paces = np.array([[0.9], [1.0], [1.1]])
    assert shifted(paces, np.full((3, 2), 7.0), seen=np.array([3.0, 9.0])) is paces


def test_levels_from_counts_rise_with_the_score():
    logs, _, counts = linear(200)
    told = from_counts(np.exp(logs), counts, seen=np.array([470.0, 520.0, 480.0]))
    assert len(told) == 2
    assert (np.diff(told[1].quantile(np.linspace(0, 1, 50))) >= 0).all()
