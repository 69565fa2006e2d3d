"""What inputs do only together, against shares in closed form."""

import numpy as np
import pytest
from scipy.stats import norm

from towerpace.answers.bid.together import share_together


def test_a_maximum_of_two_uniforms_is_a_fifth_together():
    """Var(max) = 1/18 and Var(E[max | x]) = Var((1 + x^2) / 2) = 1/45, so 1 - 2 x 18/45 = 1/5 is left."""
    x, y = np.random.default_rng(5).random((2, 8000))
    found = share_together([x, y], np.maximum(x, y))
    assert found.low < 0.2 < found.high
    assert found.value == pytest.approx(0.2, abs=0.02)


@pytest.mark.parametrize("n", [400, 2000])
def test_the_interval_holds_the_truth_of_a_maximum_of_two_normals(n):
    """Var(max) = 1 - 1 / pi (Clark 1961, Operations Research 9: 145-162, from memory).

    E[max | x] = x Phi(x) + phi(x), whose variance is taken by quadrature over 200,001 places.
    """
    places = np.linspace(-9, 9, 200_001)
    weight = norm.pdf(places) / norm.pdf(places).sum()
    mean = places * norm.cdf(places) + norm.pdf(places)
    single = (weight * mean**2).sum() - (weight * mean).sum() ** 2
    truth = 1 - 2 * single / (1 - 1 / np.pi)
    assert truth == pytest.approx(0.147, abs=1e-3)
    rng, repeats = np.random.default_rng(71), 60
    draws = [rng.standard_normal((2, n)) for _ in range(repeats)]
    found = [share_together([x, y], np.maximum(x, y)) for x, y in draws]
    covered = sum(one.low <= truth <= one.high for one in found) / repeats
    assert covered >= 0.95 - 3 * (0.95 * 0.05 / repeats) ** 0.5
    assert np.mean([one.value for one in found]) == pytest.approx(truth, abs=0.02)


def test_a_sum_leaves_nothing_together():
    x, y = np.random.default_rng(6).random((2, 2000))
    assert share_together([x, y], x + y**2).value < 0.01


def test_too_few_trials_say_nothing():
    x = np.random.default_rng(7).random(30)
    assert share_together([x], x) is None
