"""The search on set-ups whose means are known beforehand, and what is shown of its choice.

Oracles: enumeration of whole lattices; the slippage configuration and the monotone decreasing means of
ranking and selection (Bechhofer, Santner & Goldsman 1995, Design and Analysis of Experiments for Statistical
Selection, from memory), where the best is known by construction.
"""

from dataclasses import replace
from itertools import product

import numpy as np
import pytest

from support.choices import Dealt, normal_table
from towerpace.answers.choose.allocation import rejecting, shares
from towerpace.answers.choose.decide import decide
from towerpace.answers.choose.goal import Goal
from towerpace.answers.choose.proof import NOT_BETTER, prove
from towerpace.answers.choose.search import Rules
from towerpace.answers.choose.space import Axis, Space
from towerpace.units import DAY_MIN

LATTICE = Space(tuple(Axis(f"d{k}", size) for k, size in enumerate((5, 5, 4, 2))))


def tied(rng):
    """A space of a few axes with conditions and exclusions at random."""
    sizes = rng.integers(2, 5, size=4)
    axes = []
    for number, size in enumerate(sizes):
        when = {int(rng.integers(number)): frozenset({1})} if number and rng.random() < 0.5 else {}
        standing, in_order = int(rng.integers(size)), bool(rng.random() < 0.6)
        axes.append(Axis(f"d{number}", int(size), standing, in_order, when))
    if rng.random() < 0.5:
        axes[0] = replace(axes[0], apart=frozenset({3}))
        axes[3] = replace(axes[3], apart=frozenset({0}))
    return Space(tuple(axes))


@pytest.mark.parametrize("case", range(12))
def test_neighbours_and_new_points_are_open_and_every_set_up_can_be_reached(case):
    rng = np.random.Generator(np.random.PCG64(case))
    space = tied(rng)
    everything = [p for p in product(*(range(axis.size) for axis in space.axes)) if space.holds(p)]
    assert list(space.all()) == everything
    reached, todo = {space.standing}, [space.standing]
    while todo:
        new = set(space.neighbours(todo.pop())) - reached
        assert all(space.holds(point) for point in new)
        reached |= new
        todo += new
    assert reached == set(everything)
    visited = list(dict.fromkeys([space.standing, *(space.anywhere(rng) for _ in range(4))]))
    best, *others = visited
    for point in space.promising(best, visited, wanted=3, rng=rng):
        assert space.holds(point)
        assert all(space.distance(point, best) <= space.distance(point, other) for other in others)


def test_trials_go_to_what_is_near_the_best():
    """Chen et al. 2000: N_i / N_j = (gap_j / gap_i)^2 at equal spread."""
    own = shares(np.array([0.0, 1.0, 3.0]), np.ones(3), best=0)
    assert own[1] / own[2] == pytest.approx(9.0)
    assert own[0] == pytest.approx(np.hypot(own[1], own[2]))


def test_phases_of_successive_rejects_spend_the_budget():
    """Audibert, Bubeck & Munos 2010: n_1 + ... + n_(k-1) + n_(k-1) is the budget at most, rounding aside."""
    phases = rejecting(10, budget=1000)
    assert sum(phases) + phases[-1] <= 1000 + len(phases)
    assert phases == sorted(phases)


def bottleneck():
    """Days and cost of every point of the lattice: a line as long as its slowest trade."""
    points = np.array(list(LATTICE.all()))
    work = np.array([300.0, 240.0, 200.0]) / (1 + 0.5 * points[:, :3])
    days = 0.6 * work.max(axis=1) + 0.2 * work.sum(axis=1) - 6 * points[:, 3]
    cost = points @ np.array([9.0, 7.0, 6.0, 4.0]) + 0.35 * days
    return days, cost


@pytest.mark.parametrize("by", ["least cost", "earliest", "within a budget"])
def test_a_search_finds_the_best_of_two_hundred_within_what_matters(by):
    days, cost = bottleneck()
    finish, money = normal_table(days, cost, trials=1600, seed=5)
    place = {point: k for k, point in enumerate(LATTICE.all())}
    due, budget = int(np.quantile(days, 0.2) * DAY_MIN), float(np.quantile(cost, 0.2))
    goal = {"least cost": Goal(due=due), "earliest": Goal(), "within a budget": Goal(budget=budget)}[by]
    truth = money.mean(axis=1) / 1000 if by == "least cost" else np.quantile(finish, 0.8, axis=1) / DAY_MIN
    met = (finish <= due).mean(axis=1)
    does = {"least cost": met >= 0.8, "earliest": met >= 0, "within a budget": cost <= budget}[by]
    # What holds by less than trials can show is no yardstick.
    sure = {"least cost": met >= 0.85, "earliest": met >= 0, "within a budget": cost <= budget - 1}[by]
    for seed in range(3):
        trials = Dealt(finish, money, place.__getitem__, deal=seed)
        found, _ = decide(LATTICE, goal, trials, rules=Rules(matters=2.0, seed=seed), most=400)
        chosen = place[found.proof.point]
        assert does[chosen]
        assert truth[chosen] <= truth[sure].min() + 2.0
        assert trials.spent < 0.1 * 400 * len(place)


@pytest.mark.parametrize("means", ["slippage", "decreasing"])
def test_a_choice_that_is_a_zone_worse_is_not_shown_to_be_good(means):
    """A rival better by 1.5 of what matters is said to be no better in at most one of ten, as stated."""
    k, zone = 8, 2.0
    behind = np.ones(k) if means == "slippage" else np.arange(k)[::-1] / (k - 1)
    cost = 50.0 + 1.5 * zone * behind
    cost[-1] = 50.0
    finish, money = normal_table(np.full(k, 10.0), cost, trials=20_000, seed=2, sd_cost=8.0)
    goal = Goal(due=int(1e6 * DAY_MIN))
    wrong = 0
    for deal in range(40):
        trials = Dealt(finish, money, lambda point: point[0], deal=deal)
        rivals = [(number,) for number in range(1, k)]
        proof = prove(goal, trials, (0,), rivals, rules=Rules(zone), attempt=1, most=200)
        wrong += any(r.state == NOT_BETTER and r.point == (k - 1,) for r in proof.rivals)
    assert wrong <= 4
