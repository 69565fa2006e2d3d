"""What inputs do only together, against shares in closed form."""

import numpy as np
import pytest

from towerpace.answers.bid.together import share_together


def test_a_maximum_of_two_uniforms_is_a_fifth_together():
    """Var(max) = 1/18 and Var(E[max | x]) = Var((1 + x^2) / 2) = 1/45, so 1 - 2 x 18/45 = 1/5 is left."""
    x, y = np.random.default_rng(5).random((2, 8000))
    found = share_together([x, y], np.maximum(x, y))
    assert found.low < 0.2 < found.high
    assert found.value == pytest.approx(0.2, abs=0.02)


def test_a_sum_leaves_nothing_together():
    x, y = np.random.default_rng(6).random((2, 2000))
    assert share_together([x, y], x + y**2).value < 0.01


def test_too_few_trials_say_nothing():
    x = np.random.default_rng(7).random(30)
    assert share_together([x], x) is None
