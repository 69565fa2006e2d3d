"""Longest path, floats and latest starts against networkx, an independent library."""

from itertools import pairwise

import networkx as nx
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from towerpace import Plan, Step
from towerpace.plan.network import network


@st.composite
def plans(draw):
    n = draw(st.integers(1, 30))
    steps = []
    for k in range(n):
        before = draw(st.lists(st.integers(0, k - 1), max_size=4, unique=True)) if k else []
        steps.append(Step(f"s{k}", work=draw(st.integers(0, 20)), after=[f"s{i}" for i in before]))
    order = draw(st.permutations(range(n)))
    return Plan([steps[k] for k in order])


def longest_path(graph):
    """Length by networkx: work moved onto arcs between a source and a sink."""
    arcs = nx.DiGraph()
    arcs.add_node("end")
    for node, data in graph.nodes(data=True):
        arcs.add_edge("begin", (node, "in"), weight=0)
        arcs.add_edge((node, "in"), (node, "out"), weight=data["work"])
        arcs.add_edge((node, "out"), "end", weight=0)
    arcs.add_weighted_edges_from(((a, "out"), (b, "in"), 0) for a, b in graph.edges)
    return nx.dag_longest_path_length(arcs)


@given(plans())
@settings(max_examples=200, deadline=None, derandomize=True)
def test_length_is_the_longest_path_of_networkx(plan):
    assert network(plan).length == longest_path(plan.graph())


@given(plans())
@settings(max_examples=200, deadline=None, derandomize=True)
def test_floats_are_what_each_step_can_slip_alone(plan):
    passes = network(plan)
    assert np.all(passes.total_float >= 0)
    for i in range(plan.n):
        slack = int(passes.total_float[i])
        work = plan.work.copy()
        work[i] += slack
        assert network(plan, work=work).length == passes.length
        work[i] += 1
        assert network(plan, work=work).length == passes.length + 1


def test_dates_hold_back_the_earliest_start_and_not_the_latest():
    passes = network(Plan([Step("a", work=5), Step("b", work=5, after=["a"], date=20), Step("c", work=1)]))
    assert passes.earliest_start.tolist() == [0, 20, 0]
    assert passes.latest_start.tolist() == [15, 20, 24]
    assert passes.critical.tolist() == [False, True, False]


def test_the_graph_carries_names_and_tags():
    graph = Plan([Step("a", work=5), Step("b", after=["a"])]).graph()
    assert list(graph.edges) == [("a", "b")]
    assert graph.nodes["a"]["work"] == 5


def test_a_cycle_is_spelled_in_the_users_words():
    from towerpace.plan.parts import PlanError

    steps = [Step("seal", after=["panels"]), Step("panels", after=["boards"]), Step("boards", after=["seal"])]
    with pytest.raises(PlanError) as error:
        Plan(steps)
    spelled = str(error.value).removeprefix("cycle: ").split(" after ")
    arcs = set(pairwise(spelled))
    assert arcs == {("seal", "panels"), ("panels", "boards"), ("boards", "seal")}
