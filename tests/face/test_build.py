"""A scenario compiled is a plan with its graph, and its draws are those of the forecast."""

import networkx as nx
import pytest

from towerpace import After, InputError, Plan, Step, build, forecast, load, run
from towerpace.engine.diary import NEVER

SCENARIO = "scenarios/one_hoist/scenario.toml"


@pytest.fixture(scope="module")
def site():
    return build(load(SCENARIO))


def test_the_graph_has_the_typed_keys_of_every_step(site):
    graph = site.graph()
    assert list(graph) == list(site.plan.names)
    keys = {"work", "trade", "level", "zone", "panel", "kind"}
    assert all(set(node) == keys for _, node in graph.nodes(data=True))
    panels = [n for n, node in graph.nodes(data=True) if node["panel"] == 3]
    assert panels == [site.plan.names[site.tower.panels[3]]]


def test_the_longest_path_of_the_graph_is_that_of_the_network(site):
    graph, plan = site.graph(), site.plan
    assert nx.is_directed_acyclic_graph(graph)
    assert graph.number_of_edges() == len(plan.before.values)
    for name, later, edge in graph.edges(data=True):
        assert edge == {"link": "FS", "lag": 0}
        assert plan.index[name] in plan.before[plan.index[later]]


def test_links_and_lags_are_told_as_they_were_said():
    steps = [
        Step("a", work=5),
        Step("b", work=7, after=[After("a", 2, "SS"), "a"]),
        Step("c", after=[After("b", 3)]),
    ]
    graph = Plan(steps).graph()
    assert set(graph) == {"a", "b", "c"}
    assert graph.edges["b", "c"] == {"link": "FS", "lag": 3}
    assert graph.edges["a", "b"] == {"link": "FS", "lag": 0}


def test_its_draws_are_the_trials_of_the_forecast(site):
    played = forecast(load(SCENARIO), trials=3, seed=5).detail.finish.tolist()
    diaries = [run(site.plan, site.draw(trial, seed=5)) for trial in range(3)]
    assert [diary.finish for diary in diaries] == played
    assert all((diary.finished != NEVER).any() for diary in diaries)


def test_a_plan_that_cannot_be_carried_out_is_refused():
    with pytest.raises(InputError):
        build(load(SCENARIO, {"hoist.resource": "bay", "resource.bay.count": 0}))
