"""The controlling chain: exact to the minute on random plans, the worked scenario and a tower."""

from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from support.dice import on_random
from support.line_site import LineTrade, write_line
from support.random_plans import random_case
from towerpace import Plan, Pool, Step
from towerpace.answers.prepare import prepare
from towerpace.answers.why.chain import chain, equally_long
from towerpace.answers.why.explain import ChainReader, explain
from towerpace.engine.openings import Openings
from towerpace.engine.reference import run
from towerpace.scenario import load

SCENARIOS = Path(__file__).parents[2] / "scenarios"


@on_random(random_case, cases=300)
def test_work_gaps_and_the_first_ready_add_up_to_the_finish(case):
    plan, draw = case
    diary = run(plan, draw)
    links = chain(diary)
    if diary.finish is None or plan.optional.all():
        assert links == []
        return
    total = links[0].since + sum(link.finished - link.since for link in links)
    assert total == diary.finish == links[-1].finished
    for before, after in pairwise(links):
        assert before.finished == after.since <= after.started


def test_the_pool_over_which_a_chain_runs_is_named():
    steps = [Step("a", work=9, needs={"gang": 1}), Step("b", work=5, needs={"gang": 1}, rank=1)]
    links = chain(run(Plan(steps, pools=[Pool("gang", 1)])))
    assert [(link.step, link.pool) for link in links] == [(0, -1), (1, 0)]


@pytest.mark.parametrize(
    ("name", "trials"),
    [("by_hand", 1), ("one_hoist", 6), pytest.param("gannet_wharf", 2, marks=pytest.mark.slow)],
)
def test_the_causes_of_a_chain_add_up_to_the_finish(name, trials):
    ready = prepare(load(SCENARIOS / name / "scenario.toml"))
    reader = ChainReader(ready.tower)
    for trial in range(trials):
        draw = ready.chooser.draw(5, trial)
        openings = Openings(ready.tower.plan.windows, hours=draw.hours, horizon=ready.tower.plan.horizon)
        diary = run(ready.tower.plan, draw, openings=openings)
        outcome = reader(draw, openings, diary)
        assert outcome.values["held"].sum() == diary.finish
        assert np.all(outcome.values["held"] >= 0)


def test_the_worked_scenario_is_held_by_what_its_comment_says():
    found = explain(load(SCENARIOS / "by_hand" / "scenario.toml"), trials=1, seed=1)
    held = {
        (row, cause): round(1440 * float(days))
        for row, by_cause in zip(found.rows, found.held_days, strict=True)
        for cause, days in zip(found.causes, by_cause, strict=True)
        if days
    }
    assert held == {
        ("brackets", "work"): 60,
        ("brackets", "outside shift"): 420,
        ("panels", "crane move"): 100,
        ("panels", "work"): 300,
        ("panels", "wind"): 30,
        ("panels", "too little shift left to start"): 30,
        ("panels", "outside shift"): 2460,
        ("seal", "work"): 240,
        ("seal", "outside shift"): 30,
    }


def test_of_two_equal_chains_the_other_is_told():
    """Two trades of nine certain minutes side by side, then a common end: either alone holds it."""
    steps = [
        Step("a", work=9),
        Step("b", work=9),
        Step("c", work=4),
        Step("end", work=1, after=["a", "b", "c"]),
    ]
    diary = run(Plan(steps))
    links = chain(diary)
    told = {link.step for link in links}
    assert [step for step in equally_long(diary, links) if step not in told] == [({0, 1} - told).pop()]


def test_a_chain_that_is_a_minute_shorter_is_not_equal():
    steps = [Step("a", work=9), Step("b", work=8), Step("end", work=1, after=["a", "b"])]
    diary = run(Plan(steps))
    assert equally_long(diary, chain(diary)) == []


def test_equal_ends_are_equal_chains():
    diary = run(Plan([Step("a", work=9), Step("b", work=9)]))
    assert equally_long(diary, chain(diary)) == [0]


def test_explain_says_that_a_chain_is_equal(tmp_path):
    """One floor, two trades of a certain day each that follow nobody: the finish is held by both."""
    trades = [LineTrade({"x": 1}, (1440, 1440, 1440)), LineTrade({"y": 1}, (1440, 1440, 1440))]
    path = write_line(tmp_path, trades=trades, counts={"x": 1, "y": 1}, floors=1, pace=False)
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace('on = "trade_1"', 'on = "handover"'), encoding="utf-8")
    why = explain(load(path), trials=3, seed=1)
    assert list(why.equally_long().values()) == [1.0]
