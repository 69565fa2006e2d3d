"""Days found from the files of small sites, beside the true ones of the trials that are those sites."""

from __future__ import annotations

import numpy as np
import pytest

from support.late_site import LATE_D, A, B, LateSite, write_late_site
from towerpace.answers.delay.concurrency import pair
from towerpace.answers.delay.delay import Delays


@pytest.fixture(scope="module")
def sites(tmp_path_factory):
    """Two sites, each with its true days and those found; `bench_delays` has a hundred."""
    found = []
    for trial in range(2):
        folder = tmp_path_factory.mktemp("late")
        site = LateSite(write_late_site(folder), seed=11, trial=trial)
        delays = Delays(site.played(folder, trials=30, seed=1000))
        found.append((pair(lambda befell, site=site: np.array([site.days(befell)]), A, B), delays))
    return found


def test_a_replay_of_all_that_was_seen_is_the_record(sites):
    """The site obeys the model and its log is whole: no minute is left unexplained."""
    assert [single.unexplained.tolist() for _, delays in sites for single in delays.singles] == [
        [0.0] * 30
    ] * 4


def test_the_days_of_a_late_level_are_found_and_are_not_those_it_was_late(sites):
    for true, delays in sites:
        days = delays.together.pairs[A, B].alone
        assert days.min() <= true.alone[0] <= days.max()
        assert abs(days.mean() - true.alone[0]) < 2 < LATE_D - true.alone[0]


def test_shares_and_pairs_add_up_in_every_trial(sites):
    for _, delays in sites:
        together = delays.together
        assert np.allclose(sum(together.shares.values()), together.whole)
        assert np.allclose(together.pairs[A, B].both, together.whole)
