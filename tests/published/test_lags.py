"""Lags of four kinds against a worked example, Bellman-Ford and a linear program.

Source of the relations: S. Elmaghraby & J. Kamburowski 1992, The analysis of activity networks under
generalized precedence relations, Management Science 38: 1245-1263 (from memory; example worked by hand and
recomputed with networkx and scipy).

A step held by an FF or SF lag stretches: it starts as early as its start allows and ends as published. The
published activity is rigid and starts later, which shows where an SS or SF lag leaves such a step; plans with
rigid steps come out as published everywhere.
"""

from dataclasses import replace

import networkx as nx
import numpy as np
import pytest
from scipy.optimize import linprog

import towerpace
from support.drawn import drawn
from support.feasibility import check
from towerpace import After, Plan, Pool, Step, Window
from towerpace.draws import stream
from towerpace.engine.reference import run
from towerpace.plan.network import network
from towerpace.plan.parts import PlanError

KINDS = ("FS", "SS", "FF", "SF")


def example() -> Plan:
    return Plan(
        [
            Step("1", work=5),
            Step("2", work=8, after=[After("1", 2, "SS")]),
            Step("3", work=3, after=[After("2", 1, "FF"), After("1", 0, "FS")]),
        ]
    )


def test_worked_example_has_the_published_length(stand):
    """D = 5, 8, 3; 1-2 SS+2, 2-3 FF+1, 1-3 FS+0: published starts 0, 2, 8, length 11.

    Step 3 stretches: it starts at 5, when 1 has ended, and ends at 11 like the published one that starts at
    8.
    """
    plan = example()
    diary = run(plan)
    assert network(plan).length == diary.finish == 11
    assert [diary.started_at(name) for name in "123"] == [0, 2, 5]
    ends = [diary.finished_at(name) for name in "123"]
    stand(
        "worked example of SS, FF and FS lags: ends",
        "Elmaghraby & Kamburowski 1992",
        expected=(5, 10, 11),
        got=ends,
    )
    assert diary.finished_at("3") - 3 == 8
    assert check(plan, drawn(plan), diary) == []


def random_lags(
    number: int, *, kinds, stretched_may_lead: bool
) -> tuple[list[int], list[tuple[int, int, str, int]]]:
    """Works and lags (i, j, kind, lag) of a random network of 2 to 12 steps."""
    rng = stream(1992, number, "random lags")
    n = int(rng.integers(2, 13))
    lags: list[tuple[int, int, str, int]] = []
    for j in range(n):
        for i in range(j):
            if rng.random() > 0.35:
                continue
            kind = str(rng.choice(kinds))
            stretched = any(k == i and word in ("FF", "SF") for _, k, word, _ in lags)
            if kind in ("SS", "SF") and stretched and not stretched_may_lead:
                kind = "FS"
            lags.append((i, j, kind, int(rng.integers(0, 40))))
    return rng.integers(0, 60, n).tolist(), lags


def plan_of(work, lags, *, rigid=False) -> Plan:
    return Plan(
        [
            Step(str(j), work=d, after=[After(str(i), lag, kind) for i, k, kind, lag in lags if k == j])
            for j, d in enumerate(work)
        ],
        rigid=rigid,
    )


def rigid_ends(work, lags) -> list[int]:
    """Earliest ends of rigid activities, by Bellman-Ford on s_j >= s_i + {d_i + l, l, d_i + l - d_j, l -
    d_j}.
    """
    graph = nx.DiGraph()
    graph.add_weighted_edges_from(("begin", j, 0) for j in range(len(work)))
    for i, j, kind, lag in lags:
        least = lag + (work[i] if kind[0] == "F" else 0) - (work[j] if kind[1] == "F" else 0)
        already = -graph.edges[i, j]["weight"] if graph.has_edge(i, j) else -np.inf
        graph.add_edge(i, j, weight=-max(least, already))
    distance = nx.single_source_bellman_ford_path_length(graph, "begin")
    return [-distance[j] + d for j, d in enumerate(work)]


def stretched_times(work, lags) -> np.ndarray:
    """Least starts and ends of steps that may stretch, (2 n,): a linear program with e_j >= s_j + d_j."""
    n = len(work)
    relations = [(j, n + j, d) for j, d in enumerate(work)]
    for i, j, kind, lag in lags:
        relations.append((i + n * (kind[0] == "F"), j + n * (kind[1] == "F"), lag))
    matrix = np.zeros((len(relations), 2 * n))
    for row, (a, b, _) in zip(matrix, relations, strict=True):
        row[a], row[b] = 1, -1
    solved = linprog(np.ones(2 * n), A_ub=matrix, b_ub=[-least for *_, least in relations])
    assert solved.success
    return solved.x


@pytest.mark.parametrize("kinds", [("FS",), ("SS", "FS"), ("FF", "FS"), ("SF", "FS"), KINDS])
def test_random_lags_end_as_bellman_ford_says(kinds, stand):
    """80 random networks a row, every end exact, wherever no SS or SF lag leaves a stretched step."""
    used = equal = 0
    for number in range(80):
        work, lags = random_lags(number, kinds=kinds, stretched_may_lead=False)
        plan = plan_of(work, lags)
        diary = run(plan)
        ends = [diary.finished_at(str(j)) for j in range(len(work))]
        assert ends == rigid_ends(work, lags)
        equal += ends == rigid_ends(work, lags)
        assert network(plan).length == diary.finish == max(ends)
        assert check(plan, drawn(plan), diary) == []
        used += any(kind == kinds[0] and lag for *_, kind, lag in lags)
    assert used > 50
    words = f"random networks with {', '.join(kinds)} lags, of 80 with every end exact"
    stand(words, "Bellman-Ford by networkx", expected=80, got=equal)


def test_random_lags_with_stretching_steps_solve_the_linear_program(stand):
    """150 random networks with all four kinds anywhere, every start and end compared, to 1e-6."""
    shorter = equal = 0
    for number in range(150):
        work, lags = random_lags(number, kinds=KINDS, stretched_may_lead=True)
        diary = run(plan_of(work, lags))
        names = [str(j) for j in range(len(work))]
        got = [*(diary.started_at(name) for name in names), *(diary.finished_at(name) for name in names)]
        exact = pytest.approx(stretched_times(work, lags).tolist(), abs=1e-6)
        assert got == exact
        equal += got == exact
        rigid = max(rigid_ends(work, lags))
        assert diary.finish <= rigid
        shorter += diary.finish < rigid
    assert shorter > 10
    words = "random networks with stretching steps, of 150 with every start and end exact"
    stand(words, "a linear program by scipy", expected=150, got=equal)


def test_a_successor_started_by_a_stretched_step_may_start_earlier_than_published():
    """Where the two differ, least example: i 10; j 2 with FF from i; k 5 with SS from j.

    Rigid j starts at 8 and k ends at 13; stretched j starts at 0 and k ends at 5, so the length is 10.
    """
    work, lags = [10, 2, 5], [(0, 1, "FF", 0), (1, 2, "SS", 0)]
    assert rigid_ends(work, lags) == [10, 10, 13]
    diary = run(plan_of(work, lags))
    assert [diary.finished_at(name) for name in "012"] == [10, 10, 5]


def test_rigid_steps_start_and_end_as_bellman_ford_says(stand):
    """200 random networks with all four kinds anywhere; 22 of them finish earlier where steps may stretch."""
    earlier = equal = 0
    for number in range(200):
        work, lags = random_lags(number, kinds=KINDS, stretched_may_lead=True)
        plan = plan_of(work, lags, rigid=True)
        diary, names = run(plan), [str(j) for j in range(len(work))]
        ends = rigid_ends(work, lags)
        got = [(diary.started_at(name), diary.finished_at(name)) for name in names]
        exact = [(end - d, end) for end, d in zip(ends, work, strict=True)]
        assert got == exact
        equal += got == exact
        assert network(plan).length == diary.finish
        assert check(plan, drawn(plan), diary) == []
        earlier += run(plan_of(work, lags)).finish < max(ends)
    assert earlier == 22
    words = "random networks of rigid steps, of 200 with every start and end exact"
    stand(words, "Bellman-Ford by networkx", expected=200, got=equal)


def test_rigid_steps_are_refused_where_they_would_need_foresight():
    steps = [Step("pour", 10, needs={"crew": 1}, window="day", mode="work"), Step("mend", 5, skip="broken")]
    with pytest.raises(PlanError) as refused:
        Plan(steps, pools=[Pool("crew", 1)], windows=[Window("day", [(0, 600)])], rigid=True)
    foresight = ": a rigid start would need foresight of it"
    assert [fault.removesuffix(foresight) for fault in refused.value.faults] == [
        "rigid: the plan has the pool 'crew'",
        "rigid: the plan has the window 'day'",
        "rigid: chance decides on 'broken'",
    ]


@pytest.mark.parametrize("engine", ["reference", "fastest"])
def test_rigid_steps_play_no_other_minutes_than_planned(engine):
    plan = plan_of([10, 2], [(0, 1, "FF", 0)], rigid=True)
    as_said = drawn(plan)
    assert towerpace.run(plan, as_said, engine=engine).finish == 10
    with pytest.raises(ValueError, match="other minutes would need foresight"):
        towerpace.run(plan, replace(as_said, work=as_said.work + 1), engine=engine)


def test_rigid_steps_in_a_circle_are_told_as_such():
    with pytest.raises(PlanError, match="cycle"):
        plan_of([1, 1], [(0, 1, "FF", 0), (1, 0, "FS", 0)], rigid=True)


def test_a_step_held_by_ff_keeps_its_crew_until_its_end():
    """A crew of one: the stretched step holds it from 0 to 10, the next user starts at 10."""
    plan = Plan(
        [
            Step("pour", work=10),
            Step("trowel", work=2, after=[After("pour", 0, "FF")], needs={"crew": 1}),
            Step("next", work=4, needs={"crew": 1}, rank=1),
        ],
        pools=[Pool("crew", 1)],
    )
    diary = run(plan)
    assert (diary.started_at("trowel"), diary.finished_at("trowel")) == (0, 10)
    assert diary.started_at("next") == 10
    assert check(plan, drawn(plan), diary) == []
