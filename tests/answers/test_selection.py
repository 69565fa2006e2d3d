"""The selection keeps its promise on normal results with known means."""

import numpy as np
import pytest

from towerpace.answers.choice.selection import eta, select


def source(rng, means, *, sd=5.0, shared=0.0):
    """Results with some of their noise shared, as under common draws."""

    def more(which, a, b):
        common = shared * rng.standard_normal(b - a)
        return np.array([means[i] + common + sd * rng.standard_normal(b - a) for i in which])

    return more


def test_eta_is_the_published_constant():
    """Equation of Kim & Nelson (2001) for c = 1, recomputed by hand for k = 2, first = 11, 95 %."""
    assert eta(2, confidence=0.95, first=11) == pytest.approx(0.5 * (0.1 ** (-0.2) - 1))


@pytest.mark.slow
@pytest.mark.parametrize("means", [(2.0, 2.0, 0.0), (2.0, 2.0, 2.0, 2.0, 0.0)])
def test_the_best_is_named_at_least_as_often_as_promised_when_it_is_a_zone_better(means):
    """Worst case: all others exactly a zone behind. 400 runs: standard error of a share of 0.90 is 0.015."""
    rng = np.random.default_rng(2001)
    runs = [select(len(means), source(rng, means), zone=2.0, confidence=0.9) for _ in range(400)]
    hits = np.mean([means[run.best] == 0.0 for run in runs])
    assert hits >= 0.9 - 4 * 0.015
    assert all(run.settled for run in runs)


def test_shared_noise_saves_trials():
    means = (4.0, 0.0)
    rng = np.random.default_rng(7)
    alone = [sum(select(2, source(rng, means, sd=8.0), zone=1.0).runs) for _ in range(20)]
    together = [sum(select(2, source(rng, means, sd=1.0, shared=8.0), zone=1.0).runs) for _ in range(20)]
    assert np.mean(together) < np.mean(alone) / 4


def test_a_bad_set_up_is_dropped_early():
    rng = np.random.default_rng(3)
    run = select(3, source(rng, (0.0, 1.0, 50.0)), zone=1.0, most=1000)
    assert run.runs[2] == 20
    assert max(run.runs[:2]) > 20


def test_set_ups_that_give_the_same_numbers_are_settled_at_once():
    run = select(3, lambda which, a, b: np.ones((len(which), b - a)), zone=0.5)
    assert (run.best, run.settled, run.runs) == (0, True, (20, 20, 20))


def test_it_stops_unsettled_when_the_trials_run_out():
    rng = np.random.default_rng(11)
    run = select(2, source(rng, (0.0, 0.0), sd=50.0), zone=0.1, most=100)
    assert not run.settled
    assert run.runs == (100, 100)


@pytest.mark.parametrize("wrong", [{"zone": 0.0}, {"zone": 1.0, "first": 2}, {"zone": 1.0, "most": 5}])
def test_what_cannot_work_is_refused(wrong):
    with pytest.raises(ValueError, match="need k >= 2"):
        select(2, lambda which, a, b: np.ones((len(which), b - a)), **wrong)
