"""Baselines: floats against longest paths and by hand, joint chances, own dates, the network."""

from __future__ import annotations

from datetime import date

import networkx as nx
import numpy as np
import pytest

from support import command_line
from support.dice import Dice, on_random
from support.line_site import LineTrade, write_line
from support.short_tower import write_short_tower
from towerpace import InputError, Plan, Pool, Step, Window, baseline, load, run
from towerpace.answers.baseline.latest import LatestEnds, last_open, last_piece, last_start
from towerpace.draws import as_planned
from towerpace.engine.openings import Opening, Openings
from towerpace.units import DAY_MIN

SHIFTS = [(480, 1020), (1920, 2460), (2460, 2700)]


def latest(plan):
    draw = as_planned(plan)
    openings = Openings(plan.windows, hours=None, horizon=plan.horizon)
    return LatestEnds(plan).of(draw, openings, run(plan, draw)).tolist()


def _network(dice: Dice) -> Plan:
    steps = []
    for k in range(dice.whole(1, 2 + dice.size)):
        after = dice.some([f"s{j}" for j in range(k)], most=3)
        steps.append(Step(f"s{k}", work=dice.whole(0, 20), after=after))
    return Plan(steps)


@on_random(_network, cases=300)
def test_floats_are_those_of_longest_paths(plan):
    """The latest end is the finish less the longest path onward, by networkx."""
    graph, work = nx.DiGraph(), plan.work.tolist()
    graph.add_nodes_from(range(plan.n))
    links = zip(plan.before.values.tolist(), plan.before.owners.tolist(), strict=True)
    graph.add_weighted_edges_from((a, b, work[b]) for a, b in links)
    finish = run(plan).finish
    for step, end in enumerate(latest(plan)):
        onward = graph.subgraph({step, *nx.descendants(graph, step)})
        assert end == finish - nx.dag_longest_path_length(onward)


def test_latest_ends_lie_inside_the_hours_of_work():
    site = Window("site", SHIFTS)
    steps = [
        Step("set", work=60, window="site", mode="start"),
        Step("seal", work=600, window="site", mode="work", after=["set"]),
        Step("other", work=30, window="site", mode="start"),
    ]
    plan = Plan(steps, windows=[site])
    # Set ends at 9:00; seal works 480 minutes that day and 120 the next, from 8:00 on.
    assert run(plan).finish == 1920 + 120
    # Seal may not start later than it does; the other may end with the finish.
    assert latest(plan) == [540, 2040, 2040]


def test_the_last_start_of_each_mode_by_hand():
    opening = Opening(Window("site", SHIFTS), hours=None, horizon=10_000)
    assert [last_open(opening, m) for m in (400, 480, 1019, 1500, 2460)] == [-1, 480, 1019, 1019, 2460]
    assert last_start(opening, 2040, work=120) == 1920
    assert last_start(opening, 2040, work=121) == 1019
    assert last_start(opening, 1920, work=540) == 480
    assert last_start(opening, 1920, work=541) == -1
    # The last two shifts touch: a piece may run over both.
    assert last_piece(opening, 2600, work=300) == 2300
    assert last_piece(opening, 2000, work=100) == 920
    assert last_piece(opening, 2700, work=800) == -1


def test_float_leaves_resources_aside():
    plan = Plan(
        [Step("a", work=5, needs={"gang": 1}), Step("b", work=3, needs={"gang": 1})], pools=[Pool("gang", 1)]
    )
    assert latest(plan) == [8, 8]


@pytest.fixture
def line(tmp_path):
    """Trade 1 takes one day a floor and trade 2 three, one after the other: no chance at all."""
    trades = [LineTrade({"x": 1}, (DAY_MIN,) * 3), LineTrade({"y": 1}, (3 * DAY_MIN,) * 3)]
    return load(write_line(tmp_path, trades=trades, counts={"x": 1, "y": 1}, floors=2, pace=False))


def test_dates_and_floats_of_a_line_by_hand(line):
    fronts = baseline(line, trials=2).frame("fronts")
    days = [(stamp.date() - date(2027, 1, 1)).days + 1 for stamp in fronts["baseline"]]
    assert days == [1, 2, 4, 7]
    # The last floor of trade 1 is done on day 2 and needed on day 4, the first of trade 2 binds no link.
    assert fronts["float_days"].tolist() == [3.0, 2.0, 3.0, 0.0]


def test_the_logic_is_that_of_the_scenario(line):
    logic = baseline(line, trials=1).frame("logic")
    told = logic[["before_what", "before_level", "after_what", "after_level", "link"]].to_numpy().tolist()
    assert [row for row in told if row[0] == "trade_1"] == [
        ["trade_1", 1, "trade_2", 1, "FS"],
        ["trade_1", 2, "trade_2", 2, "FS"],
    ]


def test_the_joint_chance_is_counted_over_all_dates(tmp_path):
    base = baseline(load(write_short_tower(tmp_path)), at=0.8, trials=40)
    detail, kept = base.detail, base.frame("kept").set_index(["dates", "of"])
    dates = detail.baseline("done")
    due = [detail.ready.days.last_minute(day) for day in dates]
    both = (detail.outcomes.values["done"] <= np.array(due)).all(axis=1).mean()
    assert kept.loc[("P80", "all"), "chance"] == both == base.answer.fact("kept_together")
    assert kept.loc[("P50", "all"), "chance"] < kept.loc[("P50", "all"), "least"]


def test_own_dates_take_the_place_of_the_baseline(line, tmp_path):
    own = tmp_path / "own.csv"
    own.write_text("what,level,zone,done\ntrade_2,2,all,2027-01-06\nfinish,,,2027-01-08\n", encoding="utf-8")
    base = baseline(line, dates=own, trials=2)
    fronts = base.frame("fronts")
    assert fronts["kept"].dropna().tolist() == [0.0]
    assert base.answer.fact("contingency_days") == -1
    assert base.frame("kept").iloc[-1][["count", "chance"]].tolist() == [2, 0.0]


@pytest.mark.parametrize(
    ("rows", "fault"),
    [
        ("trade_3,1,all,2027-01-06", "line 2  what: found 'trade_3'; allowed: .*; nearest: trade_2"),
        ("trade_2,3,all,2027-01-06", "line 2  level: found '3'; allowed: 1, 2"),
        ("trade_2,1,al,2027-01-06", "line 2  zone: found 'al'; allowed: all; nearest: all"),
        ("trade_2,1,all,6 Jan 2027", "line 2  done: found '6 Jan 2027'; allowed: a date as 2027-04-12"),
        ("finish,,,2027-01-06\nfinish,,,2027-01-07", "line 3  what: found finish, which line 2 has already"),
        ("", "rows: found none; allowed: at least one date"),
    ],
)
def test_own_dates_that_fit_nothing_are_told_with_their_line(line, tmp_path, rows, fault):
    own = tmp_path / "own.csv"
    own.write_text(f"what,level,zone,done\n{rows}\n", encoding="utf-8")
    with pytest.raises(InputError, match=fault.replace("'", "[\"']")):
        baseline(line, dates=own, trials=1)


def test_a_column_that_is_missing_is_told_with_the_nearest(line, tmp_path):
    own = tmp_path / "own.csv"
    own.write_text("what,level,zone,dne\nfinish,,,2027-01-06\n", encoding="utf-8")
    with pytest.raises(InputError, match=r"line 1  done: found no such column.*nearest: dne"):
        baseline(line, dates=own, trials=1)


def test_the_network_reads_back_as_it_was_written(line, tmp_path):
    """By networkx's own reader of GraphML."""
    base = baseline(line, trials=2)
    graph = nx.read_graphml(base.write_network(tmp_path / "net.graphml"))
    assert len(graph) == sum(len(base.frame(name)) for name in ("fronts", "activities", "milestones"))
    assert graph.edges["trade_1 L1 all", "trade_2 L1 all"]["link"] == "FS"
    assert graph.nodes["trade_2 L2 all"]["baseline"] == "2027-01-07"
    assert nx.is_directed_acyclic_graph(graph)


def test_the_command_line_prints_what_python_returns(tmp_path):
    path = write_short_tower(tmp_path)
    printed = command_line.towerpace("baseline", path, "--trials", 5, "--workers", 1, "--json")
    assert printed.returncode == 0, printed.stderr
    assert '"question": "baseline"' in printed.stdout


def test_open_ends_and_float_are_counted(line):
    """Trade 1 has nothing before it but handovers; nothing waits for the first floor of trade 2."""
    health = baseline(line, trials=2).frame("health").set_index("check")
    assert health.loc["nothing comes before", "count"] == 0
    assert health.loc["nothing waits for", ["count", "example"]].tolist() == [1, "trade 2 L1 all"]
    assert health.loc["work areas without float", ["count", "of"]].tolist() == [1, 4]
