"""What the kernel will not read: compiled code reads past the end of an array without a word."""

from __future__ import annotations

import numpy as np
import pytest

from towerpace import Plan, Pool, Step, Window
from towerpace.climate.hours import Hours
from towerpace.climate.limits import HourLimit
from towerpace.draws import Draw, as_planned
from towerpace.engine import reference
from towerpace.engine.kernel.run import run
from towerpace.engine.kernel.tables import compiled
from towerpace.plan.model import Ragged

GUST = HourLimit("gust", "gust", above=10.0, below=None, ratio=1.0, restart_min=0, cause="wind")


def small(**changes):
    steps = [
        Step("a", work=5, needs={"gang": 1, "crane": 1}, place="x"),
        Step("b", work=5, needs={"gang": 1}, after=["a"], window="day", mode="work"),
    ]
    pools = [Pool("gang", 1), Pool("crane", 1, at=["x"], moves={})]
    return Plan(steps, pools=pools, windows=[Window("day", [(0, 90)])]).changed(**changes)


@pytest.mark.parametrize(
    ("name", "array", "words"),
    [
        ("rank", np.zeros(3, dtype=np.int64), r"rank must have shape \(2,\), not \(3,\)"),
        ("window", np.array([-1, 1]), r"window must lie in -1\.\.0, not -1\.\.1"),
        ("window", np.array([-1, -1]), "a mode other than 'always' needs a window"),
        ("place", np.array([0, 7]), r"place must lie in -1\.\.0, not 0\.\.7"),
        ("needs", Ragged(np.array([0, 2, 3]), np.array([0, 1, 2])), r"needs must lie in 0\.\.1, not 0\.\.2"),
        (
            "quantities",
            Ragged(np.array([0, 1, 3]), np.ones(3, dtype=np.int64)),
            "needs and quantities must be",
        ),
        ("after", Ragged(np.array([0, 1, 1]), np.array([5])), r"after must lie in 0\.\.1, not 5\.\.5"),
        ("after", Ragged(np.array([0, 0, 0]), np.zeros(0, dtype=np.int64)), "must be the same links"),
        ("give_taker", Ragged(np.array([0, 2]), np.zeros(2, dtype=np.int64)), "give_taker must be 2 lists"),
        ("give_pool", Ragged(np.array([0, 4, 3]), np.zeros(3, dtype=np.int64)), "a list cannot end before"),
    ],
)
def test_arrays_that_do_not_fit_are_refused_by_name(name, array, words):
    with pytest.raises(ValueError, match=words):
        run(small(**{name: array}))


def test_a_changed_plan_is_not_played_from_the_tables_of_the_old_one():
    steps = [Step("a", work=5, needs={"gang": 1}), Step("b", work=5, needs={"gang": 1})]
    plan = Plan(steps, pools=[Pool("gang", 1)])
    assert run(plan).started.tolist() == [0, 5]
    assert run(plan.changed(rank=np.array([1, 0]))).started.tolist() == [5, 0]


def test_a_draw_in_parts_of_minutes_is_refused():
    plan = small()
    with pytest.raises(ValueError, match="work must be whole minutes, got float64"):
        run(plan, Draw(plan.work.astype(float), plan.date, as_planned(plan).skip))


def test_a_draw_of_the_wrong_length_is_refused():
    with pytest.raises(ValueError, match=r"draw: work has shape \(2,\), the plan needs \(1,\)"):
        run(Plan([Step("a")]), as_planned(small()))


def test_limits_without_hours_are_refused():
    plan = small(windows=(Window("day", [(0, 90)], limits=[GUST]),))
    with pytest.raises(ValueError, match="the draw must bring the hours"):
        run(plan)


def test_a_column_of_another_length_or_kind_is_refused():
    plan = small(windows=(Window("day", [(0, 90)], limits=[GUST]),))
    planned = as_planned(plan)
    for gust, words in (
        (np.ones((2, 2)), "gust has shape"),
        (np.ones(2, dtype=np.float32), "must be float64"),
    ):
        with pytest.raises(ValueError, match=words):
            run(plan, Draw(planned.work, planned.date, planned.skip, Hours(gust, gust)))


def test_windows_that_no_step_uses_need_no_hours():
    steps, windows = [Step("a", work=3)], [Window("day", [(0, 90)], limits=[GUST])]
    plan = Plan(steps, windows=windows)
    assert run(plan).finish == reference.run(plan).finish == 3


@pytest.mark.parametrize("starts", ["first_watcher", "first_unit"])
def test_tables_without_room_stop_the_trial_instead_of_writing_past_the_end(starts):
    steps = [
        Step("a", work=5, needs={"gang": 1, "crane": 1}, place="x"),
        Step("b", work=5, needs={"gang": 1}, rank=1),
    ]
    plan = Plan(steps, pools=[Pool("gang", 1), Pool("crane", 1, at=["x"], moves={})])
    # Each watcher's list keeps the number that says how many follow.
    own = getattr(compiled(plan).start.pools, starts)
    own[:] = np.arange(len(own)) if starts == "first_watcher" else 0
    with pytest.raises(RuntimeError, match="ran out of room"):
        run(plan)


def test_a_line_without_room_stops_the_trial():
    plan = Plan([Step("a", needs={"gang": 1})], pools=[Pool("gang", 1, line="gate")])
    compiled(plan).start.pools.first_in_line[:] = [0, 1]
    with pytest.raises(RuntimeError, match="ran out of room"):
        run(plan)
