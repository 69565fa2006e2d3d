"""Intervals of percentiles by order statistics, against a table, Wilks' sample sizes and repeated trials.

Oracles: W. J. Conover, Practical Nonparametric Statistics (3rd ed. 1999), section 3.2, ranks recomputed with
the binomial law of scipy; S. S. Wilks, Determination of sample sizes for setting tolerance limits, Annals of
Mathematical Statistics 12 (1941): 91-96 (from memory, recomputed).
"""

import numpy as np
import pytest
from scipy.stats import binom

from support.estimates import share_of
from towerpace.answers.estimates import interval_ranks, percentile
from towerpace.draws import stream

RANKS = [
    (20, 0.5, 6, 15, 0.95861),
    (30, 0.5, 10, 21, 0.95723),
    (100, 0.5, 40, 61, 0.96480),
    (100, 0.8, 72, 89, 0.96740),
    (100, 0.9, 84, 96, 0.95569),
    (200, 0.8, 149, 172, 0.95850),
    (500, 0.8, 382, 418, 0.95586),
    (1000, 0.8, 775, 825, 0.95190),
    (1000, 0.9, 881, 919, 0.95491),
    (1000, 0.95, 936, 964, 0.95810),
    (2000, 0.8, 1565, 1636, 0.95286),
]


def test_ranks_and_their_coverage_are_the_published_ones(stand):
    """The chance that the quantile lies between ranks l and u is P(l <= B < u), B binomial (n, p)."""
    for n, p, low, high, coverage in RANKS:
        assert interval_ranks(n, p) == (low, high)
        assert binom.cdf(high - 1, n, p) - binom.cdf(low - 1, n, p) == pytest.approx(coverage, abs=5e-6)
    sizes = (100, 1000, 2000)
    got = [rank for n in sizes for rank in interval_ranks(n, 0.8)]
    expected = [rank for n, p, *ranks, _ in RANKS if n in sizes and p == 0.8 for rank in ranks]
    check = "ranks that bound the P80 of 100, 1,000 and 2,000 trials with 95 %"
    stand(check, "Conover 1999", expected=expected, got=got)


@pytest.mark.parametrize("p", [0.1, 0.5, 0.8, 0.9, 0.95])
@pytest.mark.parametrize("n", [40, 137, 250, 999])
def test_both_tails_are_kept_and_no_rank_is_given_away(n, p):
    """Either tail outside holds at most 2.5 %, and the next rank inwards would break that."""
    ranks = interval_ranks(n, p)
    below, above = (lambda r: binom.cdf(r - 1, n, p)), (lambda r: binom.sf(r - 1, n, p))
    if ranks is None:
        assert p**n > 0.025 or (1 - p) ** n > 0.025
        return
    low, high = ranks
    assert below(low) <= 0.025 < below(low + 1)
    assert above(high) <= 0.025 < above(high - 1)


@pytest.mark.parametrize(("n", "p"), [(10, 0.9), (5, 0.5), (35, 0.9), (35, 0.1)])
def test_no_interval_is_said_where_none_exists(n, p):
    """Ten trials leave the P90 above all of them with chance 0.9^10 = 35 %: no two-sided interval exists."""
    assert interval_ranks(n, p) is None
    got = percentile(np.arange(n), p)
    assert not got.bounded


@pytest.mark.parametrize(("n", "p"), [(36, 0.9), (36, 0.1), (6, 0.5)])
def test_the_first_number_of_trials_that_allows_an_interval_is_the_least(n, p):
    """0.9^36 = 2.25 % is the first power of 0.9 at or below 2.5 %; likewise 0.5^6."""
    assert interval_ranks(n, p) is not None
    assert interval_ranks(n - 1, p) is None


WILKS = [
    (0.95, 0.95, 1, 59),
    (0.95, 0.95, 2, 93),
    (0.90, 0.90, 1, 22),
    (0.80, 0.95, 1, 14),
    (0.90, 0.95, 1, 29),
    (0.99, 0.95, 1, 299),
]


def test_wilks_sample_sizes_follow_from_the_upper_rank(stand):
    """So many trials make the largest (second largest) a one-sided bound: one tail of our interval."""

    def bounded(trials, *, share, confidence, order):
        ranks = interval_ranks(trials, share, confidence=2 * confidence - 1)
        return ranks is not None and ranks[1] <= trials - order + 1

    got = [
        next(n for n in range(order, 500) if bounded(n, share=share, confidence=confidence, order=order))
        for share, confidence, order, _ in WILKS
    ]
    check = "least sample sizes for 95/95, 95/95 second order, 90/90, 80/95, 90/95, 99/95"
    stand(check, "Wilks 1941", expected=[row[-1] for row in WILKS], got=got)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("n", "p", "coverage"), [(100, 0.8, 0.96740), (100, 0.9, 0.95569), (200, 0.8, 0.95850)]
)
def test_the_interval_covers_the_true_percentile_as_often_as_it_says(n, p, coverage, stand):
    """12,000 samples of a skew law; standard error 0.2 %, so that one rank too narrow is seen (about 1 %)."""
    samples = 12_000
    values = np.rint(1e6 * -np.log(stream(61, n, f"covers {p}").random((samples, n)))).astype(np.int64)
    true = round(1e6 * -np.log(1 - p))
    got = [percentile(x, p) for x in values]
    covered = [g.low is not None and g.high is not None and g.low <= true < g.high for g in got]
    check = f"95 % interval of the P{100 * p:g} of {n} trials: how often it covers"
    stand(check, "binomial law, Conover 1999", expected=coverage, got=share_of(covered), sees=0.01)
