"""Steps that no plan counts on: left out as planned, done when a draw asks for them."""

import numpy as np
import pytest

from towerpace import Plan, Step
from towerpace.draws import Draw, as_planned
from towerpace.engine.reference import run
from towerpace.plan.network import network
from towerpace.plan.parts import PlanError


def plan_with_a_remedy():
    return Plan(
        [
            Step("set", work=30),
            Step("set again", work=500, after=["set"], skip="whole", planned=False),
            Step("seal", work=10, after=["set again"]),
        ]
    )


def test_as_planned_no_remedy_is_needed():
    plan = plan_with_a_remedy()

    assert as_planned(plan).skip.tolist() == [False, True, False]
    assert run(plan).finish == 40


def test_a_draw_may_ask_for_it():
    plan = plan_with_a_remedy()
    draw = Draw(plan.work, plan.date, np.zeros(plan.n, dtype=np.bool_))

    assert run(plan, draw).finish == 540


def test_the_network_does_not_count_on_it():
    assert network(plan_with_a_remedy()).length == 40


def test_a_remedy_needs_a_flag_and_a_flag_is_planned_as_a_whole():
    steps = [Step("a", planned=False), Step("b", skip="s"), Step("c", skip="s", planned=False)]
    with pytest.raises(PlanError) as caught:
        Plan(steps)

    assert caught.value.faults == (
        "step 'a': planned = False needs a skip flag",
        "step 'c': steps of the flag 's' are planned together or not at all",
    )
