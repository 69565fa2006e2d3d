"""The exact stochastic tower: trades that climb floor by floor, one crew each, exponential durations.

Oracle: the finish as the absorption time of a Markov chain on the sets of finished tasks, V. G. Kulkarni & V.
G. Adlakha 1986, Markov and Markov-regenerative PERT networks, Operations Research 34: 769-781 (from memory),
solved in this file by its own recursion; the tabled values were found by another program
and by 400,000 vectorised trials. Nothing in the plan says that a trade works bottom-up on one floor at a
time: only its single crew and its rank do, so the test runs through pools, turns, network and draws.
"""

from functools import cache
from math import sqrt

import numpy as np
import pytest

from support.drawn import drawn, whole
from support.estimates import mean_of, sd_of
from support.feasibility import check
from towerpace import Plan, Pool, Step, run
from towerpace.draws import stream
from towerpace.plan.network import network

UNIT = 10_000
TOWERS = [
    (2, (1, 1), 3.5, 1.802776, 3),
    (3, (1, 1), 4.875, 2.087912, 4),
    (10, (1, 1, 1), 16.328690, 3.486576, 12),
    (10, (2, 3, 1), 36.273666, 9.085420, 33),
    (25, (4, 4), 122.455035, 19.636485, 104),
    (8, (1, 2, 1, 2, 1), 26.993890, 5.989880, 21),
]
TRIALS = 5000


def tower(floors: int, means, *, crews: int = 1) -> Plan:
    """Each trade follows the trade before it up the floors; its crews take the lowest floor that is ready."""
    steps = [
        Step(
            f"trade {k} floor {i}",
            work=round(mean * UNIT),
            after=[f"trade {k - 1} floor {i}"] if k else [],
            needs={f"crew {k}": 1},
            rank=i,
        )
        for i in range(floors)
        for k, mean in enumerate(means)
    ]
    return Plan(steps, pools=[Pool(f"crew {k}", crews) for k in range(len(means))])


def chained(floors: int, means) -> Plan:
    """The same tower without pools: each trade's floors follow one another by arcs."""
    steps = []
    for i in range(floors):
        for k, mean in enumerate(means):
            before = [f"{k} {i - 1}"] if i else []
            before += [f"{k - 1} {i}"] if k else []
            steps.append(Step(f"{k} {i}", work=round(mean * UNIT), after=before))
    return Plan(steps)


def exact_finish(floors: int, means) -> tuple[float, float]:
    """Mean and sd of the finish by first-step analysis on the numbers of floors each trade has finished."""

    @cache
    def moments(done: tuple[int, ...]) -> tuple[float, float]:
        at_work = [k for k, n in enumerate(done) if n < (done[k - 1] if k else floors)]
        if not at_work:
            return 0.0, 0.0
        total = sum(1 / means[k] for k in at_work)
        mean, square = 1 / total, 2 / total**2
        for k in at_work:
            chance = 1 / means[k] / total
            m, s = moments((*done[:k], done[k] + 1, *done[k + 1 :]))
            mean += chance * m
            square += chance * (s + 2 * m / total)
        return mean, square

    mean, square = moments((0,) * len(means))
    return mean, sqrt(square - mean**2)


def works(floors: int, means, trial: int) -> np.ndarray:
    """Exponential works of one trial, floor by floor. [min]"""
    return stream(1986, trial, "tower").standard_exponential((floors, len(means))) * np.array(means) * UNIT


def finishes(plan: Plan, floors: int, means) -> np.ndarray:
    return (
        np.array([run(plan, drawn(plan, work=works(floors, means, t))).finish for t in range(TRIALS)]) / UNIT
    )


@pytest.mark.parametrize(("floors", "means", "mean", "sd", "certain"), TOWERS)
def test_first_step_analysis_gives_the_tabled_tower(floors, means, mean, sd, certain):
    """The oracle itself, to the digits of the table; and the tower without chance, in the engine, exactly."""
    assert exact_finish(floors, means) == pytest.approx((mean, sd), abs=1e-6)
    plan = tower(floors, means)
    diary = run(plan)
    assert diary.finish == certain * UNIT
    assert check(plan, drawn(plan), diary) == []


@pytest.mark.slow
@pytest.mark.parametrize(("floors", "means", "mean", "sd", "certain"), TOWERS)
def test_simulated_tower_has_the_exact_mean_and_spread(floors, means, mean, sd, certain, *, stand):
    """5,000 trials: standard errors 0.2 to 0.7 % of the mean, 1.0 to 1.5 % of the sd; 4 standard errors."""
    got = finishes(tower(floors, means), floors, means)
    assert mean_of(got).agrees(mean, sees=0.03)
    check = f"finish of {floors} floors, means {', '.join(map(str, means))}, one crew a trade: mean, sd"
    source = "Markov chain of Kulkarni & Adlakha 1986"
    stand(check, source, expected=(mean, sd), got=(mean_of(got), sd_of(got)), sees=0.06)
    assert mean_of(got).value > certain


@pytest.mark.slow
def test_a_second_crew_on_every_trade_would_be_seen():
    """The same check refuses a tower with one crew too many: it is not blind to the pools."""
    floors, means, mean, *_ = TOWERS[4]
    assert not mean_of(finishes(tower(floors, means, crews=2), floors, means)).agrees(mean, sees=0.03)


@pytest.mark.parametrize(("floors", "means"), [tower[:2] for tower in TOWERS])
def test_a_single_crew_per_trade_is_the_same_as_arcs_from_floor_to_floor(floors, means):
    """Every start and end of 20 trials equals the longest path with arcs in place of crews, to the minute."""
    plan, arcs = tower(floors, means), chained(floors, means)
    for trial in range(20):
        draw = drawn(plan, work=works(floors, means, trial))
        diary, passes = run(plan, draw), network(arcs, work=whole(draw.work))
        assert diary.started.tolist() == passes.earliest_start.tolist()
        assert diary.finished.tolist() == passes.earliest_finish.tolist()
        assert check(plan, draw, diary) == []
