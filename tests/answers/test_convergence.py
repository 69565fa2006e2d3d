"""Convergence: prefixes of the trials, and a second seed."""

from pathlib import Path

import numpy as np
import pytest

from towerpace.answers.bid.convergence import agree, second_seed, stages
from towerpace.answers.choice.lab import FinishMeasure
from towerpace.answers.estimates import percentile
from towerpace.answers.prepare import prepare
from towerpace.scenario import load
from towerpace.trials.job import Job
from towerpace.trials.run import run_trials

SCENARIO = Path(__file__).parents[2] / "scenarios" / "one_trade" / "scenario.toml"


def test_stages_are_prefixes_of_the_trials():
    rng = np.random.Generator(np.random.PCG64(1))
    finish = rng.integers(0, 10**6, 210)
    found = stages(finish)
    assert [s.trials for s in found] == [25, 50, 100, 200, 210]
    for stage in found:
        assert stage.percentile == percentile(finish[: stage.trials], 0.8)


def test_few_trials_are_one_stage():
    assert [s.trials for s in stages(np.arange(7))] == [7]


@pytest.mark.slow
def test_the_interval_narrows_with_the_root_of_the_trials():
    """Uniform trials: the interval of P80 has the width 2 x 1.96 sqrt(0.8 x 0.2 / n), within a fifth."""
    rng = np.random.Generator(np.random.PCG64(2))
    for stage in stages(rng.integers(0, 10**9, 12800))[4:]:
        width = (stage.percentile.high - stage.percentile.low) / 10**9
        assert width == pytest.approx(2 * 1.96 * (0.16 / stage.trials) ** 0.5, rel=0.35)


def test_a_second_seed_gives_the_answer_of_a_run_with_it():
    ready = prepare(load(SCENARIO))
    runs = [run_trials(Job(ready.chooser, FinishMeasure(None), s), trials=60).outcomes for s in (1, 3)]
    first, other = (percentile(run.values["finish"], 0.8) for run in runs)
    found = second_seed(ready, first, seed=3, trials=60)
    assert found.percentile == other
    assert found.half == percentile(runs[1].values["finish"], 0.5)
    assert found.agrees is agree(first, other)


def test_percentiles_that_chance_does_not_explain_are_told_apart():
    """Two P80s of 400 normal values: equal truths agree in 95 %; four standard errors apart few do.

    The error of P80 is sqrt(0.16 / n) over the density 0.28 there, so 0.0714, and 0.101 of a difference.
    """
    rng = np.random.Generator(np.random.PCG64(8))

    def pair(apart):
        values = np.array([[0.0], [apart]]) + rng.standard_normal((2, 400))
        return [percentile(np.rint(10**6 * (9 + v)).astype(np.int64), 0.8) for v in values]

    assert sum(agree(*pair(0.0)) for _ in range(200)) >= 180
    assert sum(agree(*pair(4 * 0.101)) for _ in range(200)) <= 20


def test_without_an_interval_nothing_is_said():
    few = percentile(np.arange(3), 0.8)
    assert agree(few, percentile(np.arange(400), 0.8)) is None
