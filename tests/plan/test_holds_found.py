"""Pools that can lock are found as by search in the graph of the plan with networkx, the second opinion."""

import random
import tracemalloc

import networkx as nx
import pytest

from towerpace.plan.model import Plan
from towerpace.plan.parts import Give, PlanError, Pool, Step

POOLS = "abcd"


def random_steps(seed):
    """Steps of a random graph, some of which keep a pool that one to three others give back."""
    rng = random.Random(seed)
    n = rng.randint(4, 14)
    after = [rng.sample(range(k), min(k, rng.choice([0, 1, 1, 1, 2]))) for k in range(n)]
    needs = [{p: 3 for p in POOLS if rng.random() < 0.12} for _ in range(n)]
    gives = [[] for _ in range(n)]
    keeps = [[] for _ in range(n)]
    for k in range(n):
        for pool in needs[k]:
            later = [j for j in range(n) if j != k and (rng.random() < 0.9) <= (j > k)]
            if later and rng.random() < 0.8:
                keeps[k].append(pool)
                for j in rng.choices(later, k=rng.choice([1, 1, 3])):
                    gives[j].append(Give(pool, 1, f"s{k}"))
    return [
        Step(f"s{k}", after=[f"s{p}" for p in after[k]], needs=needs[k], keeps=keeps[k], gives=gives[k])
        for k in range(n)
    ]


def can_lock(steps):
    """Whether a giver does not come after its taker, or pools wait for each other in a circle."""
    graph, asks = nx.DiGraph(), nx.DiGraph()
    graph.add_nodes_from(s.name for s in steps)
    graph.add_edges_from((p, s.name) for s in steps for p in s.after)
    needs = {s.name: s.needs for s in steps}
    for step in steps:
        for give in step.gives:
            behind = nx.descendants(graph, give.taker)
            if step.name not in behind:
                return True
            for inside in behind & {step.name, *nx.ancestors(graph, step.name)}:
                asks.add_edges_from((give.pool, asked) for asked in needs[inside])
    return not nx.is_directed_acyclic_graph(asks)


def is_refused(steps):
    try:
        Plan(steps, pools=[Pool(name, 3) for name in POOLS])
    except PlanError:
        return True
    return False


@pytest.mark.parametrize("part", range(2))
def test_a_plan_is_refused_where_a_search_of_its_graph_finds_that_it_can_lock(part):
    seeds = range(part * 200, part * 200 + 200)
    plans = [random_steps(seed) for seed in seeds]
    refused = [is_refused(steps) for steps in plans]
    assert refused == [can_lock(steps) for steps in plans]
    assert 20 < sum(refused) < 180


def risky_steps(seed):
    """A pool that the first step keeps and the last gives back, among steps that need it for themselves."""
    rng = random.Random(seed)
    n = rng.randint(5, 12)
    after = [rng.sample(range(k), min(k, rng.choice([0, 1, 1, 2]))) for k in range(n)]
    taker = rng.randrange(n - 2)
    giver = rng.randrange(taker + 1, n)
    after[giver] = sorted({*after[giver], taker})
    users = [k for k in range(n) if k not in (taker, giver) and rng.random() < 0.3]
    return [
        Step(
            f"s{k}",
            after=[f"s{p}" for p in after[k]],
            needs={"a": 1} if k in (taker, *users) else {},
            keeps=["a"] if k == taker else [],
            gives=[Give("a", 1, f"s{taker}")] if k == giver else [],
        )
        for k in range(n)
    ]


def waits_outside(steps):
    """Whether a giver comes after a step that needs what is kept and is no kin of its taker."""
    graph = nx.DiGraph()
    graph.add_nodes_from(s.name for s in steps)
    graph.add_edges_from((p, s.name) for s in steps for p in s.after)
    users = {s.name for s in steps if s.needs}
    for step in steps:
        for give in step.gives:
            kin = {give.taker} | nx.ancestors(graph, give.taker) | nx.descendants(graph, give.taker)
            if users & nx.ancestors(graph, step.name) - kin:
                return True
    return False


def test_a_hold_is_warned_of_where_a_search_finds_that_it_waits_for_a_user_outside():
    found, expected = [], []
    for seed in range(600):
        steps = risky_steps(seed)
        try:
            plan = Plan(steps, pools=[Pool("a", 3)])
        except PlanError:
            continue
        found.append(any("outside, which needs it too" in warning for warning in plan.warnings))
        expected.append(waits_outside(steps))
    assert found == expected
    assert 40 < sum(found) < len(found) - 40


def test_what_is_kept_of_a_large_plan_is_looked_at_in_little_memory():
    """Ten thousand visits, each kept over three steps: bits for all pairs of them would be 30 MB a list."""
    steps = []
    for k in range(10_000):
        steps += [
            Step(f"take {k}", needs={"a": 1}, keeps=["a"]),
            Step(f"work {k}", after=[f"take {k}"]),
            Step(f"give {k}", after=[f"work {k}"], gives=[Give("a", 1, f"take {k}")]),
        ]
    plan = Plan(steps, pools=[Pool("a", 3)])
    tracemalloc.start()
    assert plan.warnings == ()
    assert tracemalloc.get_traced_memory()[1] < 20e6
    tracemalloc.stop()
