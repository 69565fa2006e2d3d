"""Comparing two set-ups and selecting the best of several, against a worked example and the stated promise.

Oracles: A. M. Law, Simulation Modeling and Analysis, the inventory policies (20, 40) and (20, 80) under five
replications each: mean difference 4.98, variance of the mean 2.44, 90 % interval [1.65, 8.31] (data read in a
package of worked examples, printed figures from memory); S.-H. Kim & B. L. Nelson 2001, A fully sequential
procedure for indifference-zone selection in simulation, ACM Transactions on Modeling and Computer Simulation
11: 251-273 (from memory): the best is kept with at least the stated chance wherever it is a zone better.
"""

import numpy as np
import pytest

from support.estimates import share_of
from towerpace.answers.choice.paired import paired_difference
from towerpace.answers.choice.selection import eta, select
from towerpace.draws import stream

X = np.array([126.97, 124.31, 126.68, 122.66, 127.23])
Y = np.array([118.21, 120.22, 122.45, 122.68, 119.40])


def test_the_paired_interval_of_two_inventory_policies_is_the_printed_one(stand):
    """Recomputed with scipy to four digits; unpaired (Welch) it would be [2.6608, 7.2952]."""
    found = paired_difference(X, Y, confidence=0.9)
    got = (found.mean, found.sd**2 / len(X), found.low, found.high)
    check = "two inventory policies: mean difference, its variance, 90 % interval"
    stand(check, "Law; scipy", expected=(4.978, 2.43827, 1.6491, 8.3069), got=got, within=5e-5)


def test_the_constant_of_the_region_is_the_published_one(stand):
    """((2 x 0.05 / (k - 1))^(-2 / (first - 1)) - 1) / 2 by logarithms: exp(0.46052), exp(0.388303)."""
    got = [eta(k, confidence=0.95, first=first) for k, first in ((2, 11), (5, 20))]
    expected = (0.292447, 0.237238)
    stand("constant for 2 and 5 set-ups", "Kim & Nelson 2001", expected=expected, got=got, within=1e-6)


@pytest.mark.slow
@pytest.mark.parametrize("setups", [2, 5])
def test_the_best_is_kept_as_often_as_promised_where_all_others_are_a_zone_behind(setups, stand):
    """The worst case of the promise, normal results of sd 5: 1,000 runs, standard error below 0.95 %."""
    rng = stream(2001, setups, "worst case")
    means = np.array([2.0] * (setups - 1) + [0.0])

    def more(which, a, b):
        return means[list(which), np.newaxis] + 5 * rng.standard_normal((len(which), b - a))

    kept = [select(setups, more, zone=2.0, confidence=0.9).best == setups - 1 for _ in range(1000)]
    check = f"best of {setups} set-ups, all others a zone behind: how often kept"
    stand.at_least(check, "Kim & Nelson 2001, promise of 90 %", expected=0.9, got=share_of(kept))
