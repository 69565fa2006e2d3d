"""The independent judge of diaries: it passes what the engine makes and catches what is planted.

Source of the idea: every published schedule is verified by a checker of its own (R. Kolisch & A. Sprecher
1996, PSPLIB, European Journal of Operational Research 96: 205-216, from memory). The judge shares no code
with the engine; here it is shown able to fail.
"""

from dataclasses import replace

import numpy as np
import pytest

from support.dice import on_random
from support.drawn import drawn
from support.feasibility import check
from support.random_plans import random_case, random_case_with_lags
from towerpace import After, Give, Plan, Pool, Step, Window
from towerpace.climate.hours import Hours
from towerpace.climate.limits import HourLimit
from towerpace.draws import Draw
from towerpace.engine.reference import run


@pytest.mark.slow
@on_random(random_case, cases=400)
def test_whatever_the_engine_does_is_possible(case):
    plan, draw = case
    assert check(plan, draw, run(plan, draw)) == []


@pytest.mark.slow
@on_random(random_case_with_lags, cases=150)
def test_with_lags_too(case):
    plan, draw = case
    assert check(plan, draw, run(plan, draw)) == []


def site() -> Plan:
    """Two lifts and a weld that share things, a remake that may be skipped, and a crew that arrives late."""
    lift = {"window": "lifting", "mode": "start"}
    return Plan(
        [
            Step("first lift", work=50, needs={"crane": 1}, keeps=["crane"], **lift),
            Step("bolt", work=20, after=["first lift"], gives=[Give("crane", 1, "first lift")]),
            Step("second lift", work=40, needs={"crane": 1}, rank=1, **lift),
            Step("weld", work=100, needs={"crew": 1}, window="lifting", mode="work", date=30),
            Step("paint", work=30, after=[After("weld", 15)], needs={"crew": 1}, rank=2),
            Step("remake", work=500, after=["weld"], needs={"crew": 1}, skip="broken"),
            Step("arrive", work=0, date=60, gives=[Give("crew")]),
            Step("board", work=10, needs={"crew": 1}, rank=5),
            Step("sweep", work=10, needs={"gate": 1}, rank=1),
            Step("wash", work=10, needs={"gate": 1}, rank=2),
        ],
        pools=[Pool("crane", 1), Pool("crew", 0), Pool("gate", 1, line="gate")],
        windows=[Window("lifting", [(0, 120), (180, 360)], stops=[(200, 210)])],
    )


def played(plan: Plan) -> tuple[Draw, dict[str, np.ndarray]]:
    """The site without the remake: draw and stamps that may be changed."""
    draw = replace(drawn(plan), skip=plan.flag != -1)
    diary = run(plan, draw)
    return draw, {word: getattr(diary, word).copy() for word in ("ready", "started", "finished")}


def faults_after(changes: dict[str, dict[str, int]]) -> str:
    """What the judge says when stamps are moved by the given minutes."""
    plan = site()
    draw, stamps = played(plan)
    for name, moves in changes.items():
        for word, minutes in moves.items():
            stamps[word][plan.index[name]] += minutes
    return "\n".join(check(plan, draw, replace(run(plan, draw), **stamps)))


def test_an_honest_diary_passes():
    assert faults_after({}) == ""


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"bolt": {"started": -1, "finished": -1}}, "'bolt': started at 49, ready at 50"),
        ({"bolt": {"ready": -5, "started": -5, "finished": -5}}, "'bolt': ready at 45, but its predecessors"),
        ({"weld": {"ready": -10}}, "'weld': ready at 20, but its predecessors and date say 30"),
        ({"second lift": {"started": -1, "finished": -1}}, "with 0 of pool 'crane' free, too few"),
        ({"second lift": {"started": 20, "finished": 20}}, "with 30 min of the shift left"),
        ({"second lift": {"started": 60, "finished": 60}}, "'second lift': started at 130, window closed"),
        ({"second lift": {"finished": 1}}, "41 min between start and end, its work and move are 40"),
        ({"weld": {"finished": -1}, "paint": {"ready": 0}}, "'remake': ready at"),
        ({"remake": {"finished": 500}}, "'remake': skipped, so it must pass at once"),
        ({"board": {"started": 500, "finished": 499}}, "9 min between start and end"),
        (
            {"sweep": {"started": 30, "finished": 30}},
            "'wash': started at 10 past 'sweep', ahead of it in line 'gate'",
        ),
    ],
)
def test_a_planted_violation_is_caught(changes, said):
    assert said in faults_after(changes)


def test_open_minutes_lost_or_gained_are_caught():
    """A pausing step of 100 open minutes that runs through the stop of its window in 100 elapsed ones."""
    plan = Plan(
        [Step("weld", work=100, window="day", mode="work")],
        windows=[Window("day", [(0, 60), (100, 300)], stops=[(110, 130)])],
    )
    diary = run(plan)
    assert diary.finish == 160
    assert check(plan, drawn(plan), diary) == []
    early, late = (replace(diary, finished=np.array([m], dtype=np.int32)) for m in (100, 161))
    assert "60 min between start and end, its work and move are 100" in check(plan, drawn(plan), early)[0]
    assert "101 min between start and end" in check(plan, drawn(plan), late)[0]


def test_broken_work_that_does_not_begin_again_is_caught():
    """90 min in one piece: 60 are lost at the stop at minute 60, so it ends at 100 + 90, not at 130."""
    plan = Plan(
        [Step("pour", work=90, window="day", mode="unbroken")],
        windows=[Window("day", [(0, 300)], stops=[(60, 100)])],
    )
    diary = run(plan)
    assert diary.finish == 190
    assert check(plan, drawn(plan), diary) == []
    resumed = replace(diary, finished=np.array([130], dtype=np.int32))
    assert check(plan, drawn(plan), resumed) == ["'pour': ended at 130, 90 min in one piece end at 190"]


def test_a_lift_above_its_wind_limit_is_caught():
    """Hour 1 blows 15 m/s against a limit of 10 m/s, and half an hour of calm is asked for after it."""
    limit = HourLimit("lift", "gust", above=10.0, below=None, ratio=1.0, restart_min=30, cause="wind")
    plan = Plan(
        [Step("lift", work=20, date=60, window="day", mode="start")],
        windows=[Window("day", [(0, 600)], limits=[limit])],
    )
    gusts = np.array([5.0, 15.0, 5.0, 5.0])
    draw = replace(drawn(plan), hours=Hours(speed_m_s=gusts, gust_m_s=gusts))
    diary = run(plan, draw)
    assert diary.started.tolist() == [150]
    assert check(plan, draw, diary) == []
    early = replace(diary, started=diary.started - 1, finished=diary.finished - 1)
    assert check(plan, draw, early) == ["'lift': started at 149, window closed"]


def test_units_given_twice_are_caught():
    """A later step with the stamps of one that gave the crane back: the sweep counts one unit too many."""
    plan = Plan(
        [Step("lift", work=5, needs={"crane": 1}), Step("arrive", work=0, date=9, gives=[Give("crane")])],
        pools=[Pool("crane", 1)],
    )
    diary = run(plan)
    assert check(plan, drawn(plan), diary) == []
    plan.give_taker.values[-1] = 0
    assert check(plan, drawn(plan), diary) == ["'arrive': gives back more of pool 'crane' than was taken"]


def test_a_crane_that_arrives_without_the_time_to_move_is_caught():
    """Two lifts at different places with one crane that takes 7 min from one to the other."""
    plan = Plan(
        [
            Step("lift at A", work=10, needs={"crane": 1}, place="A"),
            Step("lift at B", work=10, needs={"crane": 1}, place="B", rank=1),
        ],
        pools=[Pool("crane", 1, at=["A"], moves={("A", "B"): 7, ("B", "A"): 7})],
    )
    diary = run(plan)
    assert diary.finished.tolist() == [10, 27]
    assert check(plan, drawn(plan), diary) == []
    flown = replace(diary, finished=np.array([10, 20], dtype=np.int32))
    assert check(plan, drawn(plan), flown) == [
        "'lift at B': 10 min between start and end, its work and move are 17"
    ]
