"""Three counts of each source, by hand where all of it is on the chain, and why they differ."""

import numpy as np
import pytest
from test_bid_sources import BOTH_LATE, IN_LINE

from support.small_site import made
from towerpace.answers.choice.paired import Difference
from towerpace.answers.reconciled import Reconciled, Why
from towerpace.answers.why.explain import explain
from towerpace.plan import chance


def counted(tmp_path, text):
    scenario = made(tmp_path, text).scenario
    rows = explain(scenario, trials=5, seed=1, removed=True).reconciled
    return {row.source: row for row in rows}


def test_in_line_the_chain_and_the_removal_say_the_same(tmp_path):
    """A second try of ten days, then a strike of five: both on the one chain, both saved in whole."""
    rows = counted(tmp_path, IN_LINE)

    for source, days in ((chance.MOCK_UP, 10), (chance.RISKS, 5)):
        assert (rows[source].chain, rows[source].removed.mean) == (days, days)
        assert rows[source].why is Why.AGREES
    assert rows[chance.STRUCTURE].why is Why.NOTHING


def test_side_by_side_one_is_on_the_chain_and_none_is_saved(tmp_path):
    """Strike and second try end together: the chain goes through one, to be rid of it saves nothing."""
    rows = counted(tmp_path, BOTH_LATE)
    both = [rows[chance.MOCK_UP], rows[chance.RISKS]]

    assert sorted(row.chain for row in both) in ([0, 5], [0, 10])
    assert [row.removed.mean for row in both] == [0, 0]


def test_tracing_a_draw_changes_no_trial(tmp_path):
    from towerpace.answers.choice.lab import FinishMeasure
    from towerpace.trials.job import Job
    from towerpace.trials.run import run_trials

    ready = made(tmp_path, IN_LINE.replace("chance = 1", "chance = 0.5"))
    plain = run_trials(Job(ready.chooser, FinishMeasure(None), 1), trials=10).outcomes.values["finish"]

    assert np.array_equal(explain(ready.scenario, trials=10, seed=1).finish, plain)


@pytest.mark.parametrize(
    ("chain", "resources", "ends", "why"),
    [
        (10, 0, (8, 9, 12), Why.AGREES),
        (20, 0, (8, 9, 12), Why.OTHER_CHAIN),
        (4, 5, (8, 9, 12), Why.RESOURCES),
        (4, 1, (8, 9, 12), Why.ELSEWHERE),
        (0, 3, (-1, 0.2, 1), Why.UNCLEAR),
        (3, 3, (0, 0, 0), Why.NOTHING),
    ],
)
def test_the_sentence_follows_the_numbers(chain, resources, ends, why):
    low, mean, high = ends
    row = Reconciled("wind", chain, resources, Difference(mean, low, high, high - low))

    assert row.why is why
    assert Reconciled("wind", chain, resources, None).why is Why.NOT_PLAYED
