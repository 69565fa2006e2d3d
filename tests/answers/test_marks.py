"""Marks of forecasts against published values, and against a library made for them.

Source: Gneiting, Balabdaoui & Raftery (2007), Probabilistic forecasts, calibration and sharpness: the ideal
and the climatological forecaster of their simulation (from memory), whose mean scores are 1/sqrt(pi) and
sqrt(2)/sqrt(pi). The score of a standard normal forecast at 0 is 0.2336949773 (manual of properscoring).
"""

import sys

import numpy as np
import pytest

from towerpace.answers.score.marks import (
    as_badly,
    brier,
    crps,
    crps_of_own,
    effective_number,
    later_of_own,
    later_than,
    moves_and_open,
    place_among,
)


def test_a_standard_normal_at_zero():
    from scipy.stats import norm

    trials = norm.ppf((np.arange(20_000) + 0.5) / 20_000)[:, None]
    assert crps(trials, np.zeros(1))[0] == pytest.approx(0.2336949773, abs=1e-4)


def test_the_ideal_and_the_climatological_forecaster():
    rng = np.random.default_rng(23)
    known = rng.standard_normal(20_000)
    came = known + rng.standard_normal(20_000)
    ideal = known + rng.standard_normal((40, 20_000))
    climate = np.sqrt(2) * rng.standard_normal((40, 20_000))
    assert crps(ideal, came).mean() == pytest.approx(1 / np.sqrt(np.pi), abs=0.01)
    assert crps(climate, came).mean() == pytest.approx(np.sqrt(2 / np.pi), abs=0.015)


@pytest.mark.slow
def test_as_a_library_made_for_scores_has_it(monkeypatch):
    rng = np.random.default_rng(24)
    monkeypatch.setitem(sys.modules, "numba", None)  # or the library compiles all it has: four seconds
    rules = pytest.importorskip("scoringrules", reason="an oracle of the test extra")
    trials, came = rng.gamma(3.0, 2.0, (60, 25)), rng.gamma(3.0, 2.0, 25)
    own = crps(trials, came)
    assert own == pytest.approx(rules.crps_ensemble(came, trials.T, estimator="fair"))
    cut = crps(trials, came, seen=5.0)
    assert cut == pytest.approx(rules.twcrps_ensemble(came, trials.T, b=5.0, estimator="fair"))
    held = came < 6
    chances = (trials < 6).mean(axis=0)
    assert brier(chances, held) == pytest.approx(np.mean(rules.brier_score(held.astype(float), chances)))


def test_the_marks_of_own_trials_are_those_of_each_against_the_others():
    rng = np.random.default_rng(25)
    trials = rng.integers(0, 30, (12, 5)).astype(float)
    for seen in (np.inf, 14.0):
        crps_own, late_own = crps_of_own(trials, seen=seen), later_of_own(trials, p=0.8, seen=seen)
        for k in range(12):
            others = np.delete(trials, k, axis=0)
            assert crps_own[k] == pytest.approx(crps(others, trials[k], seen=seen))
            assert late_own[k].tolist() == later_than(others, trials[k], p=0.8, seen=seen).tolist()


def test_a_right_forecast_is_called_wrong_as_often_as_said():
    rng = np.random.default_rng(26)
    # Thirty outcomes that move together: one truth and 199 trials of the same law, a thousand times over.
    rejected = 0
    for _ in range(1000):
        shared = rng.standard_normal((200, 1))
        all_trials = 2 * shared + rng.standard_normal((200, 30))
        truth, trials = all_trials[0], all_trials[1:]
        mark = crps(trials, truth, seen=1.0).mean()
        rejected += as_badly(crps_of_own(trials, seen=1.0).mean(axis=1), mark) <= 0.05
    assert rejected / 1000 == pytest.approx(0.05, abs=3 * np.sqrt(0.05 * 0.95 / 1000))


def test_open_outcomes_keep_the_places_even():
    rng = np.random.default_rng(27)
    # Of what is open the middle of what is left is taken: the mean place of a right forecast stays a half.
    trials = rng.standard_normal((400, 4000))
    came = rng.standard_normal(4000)
    places = place_among(trials, came, seen=0.4)
    assert places.mean() == pytest.approx(0.5, abs=4 * 0.29 / np.sqrt(4000))
    assert places[came <= 0.4].mean() < 0.4


def test_columns_that_move_together_count_as_few():
    rng = np.random.default_rng(28)
    shared = rng.standard_normal((5000, 1))
    trials = 2 * shared + rng.standard_normal((5000, 34))
    mean, number = effective_number(trials)
    assert mean == pytest.approx(0.8, abs=0.02)
    assert number == pytest.approx(34 / (1 + 33 * 0.8), abs=0.03)


def test_chances_that_use_what_is_known_move_as_they_should():
    rng = np.random.default_rng(29)
    # A coin a step: the chance that the sum of ten ends above 0 is a martingale.
    from scipy.stats import binom

    whole, half = [], []
    for _ in range(2000):
        steps = rng.integers(0, 2, 9).cumsum()
        left = np.arange(8, -1, -1)
        chances = np.append(0.5, 1 - binom.cdf(4 - steps, left, 0.5))
        whole.append(moves_and_open(chances))
        half.append(moves_and_open(chances[:5]))
    for moved, still_open, honest in (np.mean(whole, axis=0), np.mean(half, axis=0)):
        assert honest == 0.25
        assert moved + still_open == pytest.approx(honest, abs=0.015)
    assert np.min(half) >= 0  # of a date that has become less certain too
