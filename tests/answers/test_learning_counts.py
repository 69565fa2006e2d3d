"""Chances learned by counting, and paces learned from counts alone: by hand and against closed forms."""

import numpy as np
import pytest
from scipy.stats import beta

from towerpace.answers.learn.chances import Chance, exposure
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


def test_young_panels_are_exposed_in_part():
    """Found after 10, 20, 30 or 40 minutes: at 25 half would have shown, at 5 none, at 90 all."""
    ages, after = np.array([25.0, 5.0, 90.0]), np.array([10.0, 20.0, 30.0, 40.0])
    assert exposure(ages, found_after_min=after) == pytest.approx(1.5)


def test_counting_only_exposed_panels_keeps_a_rate_that_counting_all_would_halve():
    """Losses show 30 days on; panels set over 60 days: half of them could not have shown theirs.

    Three standard errors of a share of 5 % among 10,000 are 0.0066.
    """
    rng = np.random.Generator(np.random.PCG64(3))
    age, lost = rng.uniform(0, 60, 20_000), rng.random(20_000) < 0.05
    events = int((lost & (age > 30)).sum())
    exposed = exposure(age, found_after_min=np.full(10, 30.0))
    assert Chance.stated(0.05).seen(events=events, exposed=exposed).mean == pytest.approx(0.05, abs=0.0066)
    assert Chance.stated(0.05).seen(events=events, exposed=20_000).mean < 0.03


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
