"""Quantiles behind the intervals, against `scipy.stats`, which the program does not import for them."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import beta, binom

from towerpace.answers.estimates import _binomial_quantile, chance


@pytest.mark.parametrize("n", [1, 2, 7, 30, 99, 100, 333, 1000, 10_000])
@pytest.mark.parametrize("p", [0.013, 0.1, 0.5, 0.8, 0.9, 0.999])
def test_the_binomial_quantile_is_that_of_scipy(n, p):
    for q in (0.025, 0.05, 0.95, 0.975):  # at 0.5 an odd n is a tie, which rounding decides
        assert _binomial_quantile(q, n, p) == binom.ppf(q, n, p)


@pytest.mark.parametrize(("hits", "n"), [(0, 5), (5, 5), (1, 30), (17, 30), (999, 1000)])
def test_the_interval_of_a_chance_is_that_of_scipy(hits, n):
    own = chance(np.arange(n) < hits)
    low = 0.0 if hits == 0 else beta.ppf(0.025, hits, n - hits + 1)
    high = 1.0 if hits == n else beta.ppf(0.975, hits + 1, n - hits)
    assert (own.low, own.high) == (pytest.approx(low, rel=1e-12), pytest.approx(high, rel=1e-12))
