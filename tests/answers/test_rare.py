"""The mean of amounts that are due in few trials, such as damages for a late date."""

import numpy as np
import pytest
from scipy.stats import chi2, t

from towerpace.answers.estimates import chance
from towerpace.answers.rare import mean_of_rare


@pytest.mark.parametrize(
    "law",
    [lambda rng, n: rng.exponential(10.0, n), lambda _, n: np.full(n, 10.0)],
    ids=["exponential", "equal"],
)
def test_the_interval_of_rare_amounts_holds_the_truth_as_often_as_stated(law):
    """Due in 1 % of the trials with the mean 10: the truth is 0.1. At most 4 standard errors off 95 %."""
    rng = np.random.Generator(np.random.PCG64(3))
    held, by_t, some = 0, 0, 0
    for _ in range(150):
        money = np.where(rng.random(300) < 0.01, law(rng, 300), 0.0)
        some += bool(money.any())
        half = t.ppf(0.975, 299) * money.std(ddof=1) / 300**0.5
        by_t += money.any() and abs(money.mean() - 0.1) <= half
        told = mean_of_rare(money)
        held += told.low <= 0.1 <= told.high
    assert held >= (0.95 - 4 * (0.05 * 0.95 / 150) ** 0.5) * some
    assert held > by_t


def test_one_amount_of_many_trials_is_as_uncertain_as_an_exponential_one():
    """Where the chance is all but known, what is left is the size: 2 s / chi2 with 2 k degrees of freedom.

    All of k amounts due and c = 1: the interval of the mean of exponential amounts (from memory, any textbook
    of reliability). The chance of k in k is 1 for the upper end.
    """
    equal_scatter = np.array([2 - 2**0.5, 2 + 2**0.5]) / 2  # two amounts with the squared scatter 1, mean 1
    assert equal_scatter.var(ddof=1) / equal_scatter.mean() ** 2 == pytest.approx(1)
    told = mean_of_rare(equal_scatter)
    assert told.high == pytest.approx(2 * equal_scatter.sum() / chi2.ppf(0.025, 4), rel=1e-4)


def test_of_very_many_equal_amounts_the_interval_is_that_of_their_chance():
    money = np.where(np.arange(4000) < 1000, 8.0, 0.0)
    told, share = mean_of_rare(money), chance(money > 0)
    assert (told.value, told.low, told.high) == pytest.approx((2.0, 8 * share.low, 8 * share.high), rel=0.002)


@pytest.mark.parametrize("each", [0.0, 5.0])
def test_where_nothing_differs_no_interval_is_claimed(each):
    told = mean_of_rare(np.full(20, each))
    assert told.value == each
    assert np.isnan([told.low, told.high]).all()


def test_the_unit_of_the_amounts_does_not_matter():
    money = np.array([0.0] * 50 + [1.0, 2.0, 7.0])
    thousand, told = mean_of_rare(1000 * money), mean_of_rare(money)
    assert [thousand.low, thousand.high] == pytest.approx([1000 * told.low, 1000 * told.high])
