"""Units that leave or come with an activity: nothing is lifted or breaks down once the hoist is gone."""

import numpy as np
import pytest

from support.supply_tower import at, levels_of, played, prepared
from towerpace.engine.fastest import run as run_fast
from towerpace.faults import InputError

TWO_LEVELS = levels_of(
    [(1, "north", "2027-03-01", "2027-03-01", 8), (2, "north", "2027-03-02", "2027-03-02", 8)]
)
BREAKS = """
[activity.hoist_out]
work_h = 5
removes = { hoist = "all" }
calendar = "day"
after = [{ on = "panels", level = 2 }]
"""
OFTEN = {
    "family.flat.handling_break_chance": 0.3,
    "family.flat.remake_days": 10,
    "trade.panels.hole": "infill",
    "resource.hoist.breakdown": {"every_h": 20, "repair_h": 3},
}


def lifted_late(ready, diary):
    """Steps that begin with a hoist after all hoists have left."""
    plan = ready.tower.plan
    hoist, end = plan.pools.names.index("hoist"), diary.finished_at("hoist_out")
    users = np.array([any(pool == hoist for pool, _ in needs) for needs in plan.lists.needs])
    assert end > 0
    return [plan.names[i] for i in np.flatnonzero(users & (diary.started >= end))]


def _by_both_engines(ready):
    draw, _, diary = played(ready)
    return diary, run_fast(ready.tower.plan, draw)


def test_a_hoist_leaves_when_nothing_needs_it_any_more(tmp_path):
    """Three in ten panels break and are made again: the hoist stays for every one of them."""
    ready, waited = prepared(tmp_path, levels=TWO_LEVELS, more=BREAKS, changes=OFTEN), 0
    assert np.array_equal(*(d.started for d in _by_both_engines(ready)))
    for trial in range(200):
        diary = run_fast(ready.tower.plan, ready.chooser.draw(1, trial))
        assert diary.finish is not None
        assert lifted_late(ready, diary) == []
        waited += diary.started_at("hoist_out") > at(9, "0:00")
    assert waited > 100


def test_what_still_needs_the_hoist_after_it_has_left_is_a_fault(tmp_path):
    late = BREAKS + '[activity.sign]\nwork_h = 1\nneeds = { hoist = 1 }\ncalendar = "day"\n'
    late += 'after = [{ on = "hoist_out" }]\n'
    with pytest.raises(InputError, match="hoist_out"):
        prepared(tmp_path, levels=TWO_LEVELS, more=late)


def test_a_hoist_that_stays_does_not_break_down_for_one_that_left(tmp_path):
    """Each fails every 20 h: the second unit leaves on the first day, and fails no more."""
    one = BREAKS.replace('"all"', "1").replace('after = [{ on = "panels", level = 2 }]', "")
    changes = OFTEN | {"resource.hoist.count": 2}
    ready = prepared(tmp_path, levels=TWO_LEVELS, more=one, changes=changes)
    _, _, diary = played(ready)

    assert diary.finished_at("hoist_out") == at(0, "12:00")
    assert diary.started_at("hoist 1: breakdown 2") > 0
    assert diary.started_at("hoist 2: breakdown 1") == -1
    assert diary.finish is not None


def test_a_unit_comes_with_an_activity(tmp_path):
    """The bay's only hoist stands on Wednesday noon; no crate goes up before."""
    more = '[activity.hoist_in]\nwork_h = 25\nbrings = { hoist = 1 }\ncalendar = "day"\n'
    _, _, diary = played(prepared(tmp_path, more=more))

    assert diary.finished_at("hoist_in") == at(2, "12:00")
    assert diary.started_at("panels L1 north: crate 1 up") == at(2, "12:00")


@pytest.mark.parametrize(
    ("more", "changes", "said"),
    [
        (BREAKS + "needs = { hoist = 1 }\n", {}, "removes or needs, not both"),
        (BREAKS, {"resource.hoist.leaves": "2027-05-01"}, "removes or resource.hoist.leaves, not both"),
        (BREAKS.replace('"all"', "2"), {}, "at most resource.hoist.count, which is 1"),
        (BREAKS.replace('"all"', '"some"'), {}, 'a whole number, at least 1, or "all"'),
        (BREAKS.replace("hoist =", "crane ="), {}, "no floor crane"),
    ],
)
def test_what_cannot_leave_is_refused(tmp_path, more, changes, said):
    with pytest.raises(InputError, match=said):
        prepared(tmp_path, levels=TWO_LEVELS, more=more, changes=changes)
