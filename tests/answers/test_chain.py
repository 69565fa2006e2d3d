"""The controlling chain: exact to the minute on random plans, the worked scenario and a tower."""

from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from support.dice import on_random
from support.random_plans import random_case
from towerpace import Plan, Pool, Step
from towerpace.answers.prepare import prepare
from towerpace.answers.why.chain import chain
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
