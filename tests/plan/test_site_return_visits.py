"""Return visits for which new panels are gathered, by hand (see support.panel_site): setting up takes 60 min,
a lift 50, a shift 15, and a change of zone 30.
"""

import numpy as np
import pytest

from plan.test_site_panels_accounted_for import lost, wild_site
from support.panel_site import DAY, played, row, site, spans
from support.plain_book import clocks
from towerpace.answers.ledger.book import Ledger
from towerpace.engine.kernel.run import run as run_compiled

LOST = {
    **{f"family__{name}__reject_chance": 1 for name in ("flat", "sound")},
    "family__flat__remake_days": 1,
    "family__sound__remake_days": 3,
}


def returns(**changes):
    return {"trade__panels__returns": {"most": 9, "days": 9, **changes}}


def lengths(diary, *names):
    return [end - start for start, end in spans(diary, *names)]


def test_one_trip_for_two_panels_of_a_front(tmp_path):
    """Nothing is set at first. The first new panel waits a trip of 8 min for the second."""
    _, diary = played(site(tmp_path, [row(1, flat=2)], **LOST, **returns()))

    one, two = (f"panels L1 north: panel {k}" for k in (1, 2))
    ups = spans(diary, f"{one} up again, visit 1", f"{two} up again, visit 1")
    assert ups[1] == (ups[0][1], ups[0][1] + 8)
    came = ups[1][1]
    assert spans(diary, "panels L1 north: visit 1: move in") == [(came, came + 60)]
    assert spans(diary, f"{one} again, visit 1") == [(came + 60, came + 110)]
    assert spans(diary, f"{two} visit 1: move", f"{two} again, visit 1") == [
        (came + 110, came + 125),
        (came + 125, came + 175),
    ]
    assert diary.finish == diary.finished_at("panels L1 north: holes closed") == came + 175


def test_a_visit_that_is_full_leaves_the_rest_to_the_next(tmp_path):
    draw, diary = played(site(tmp_path, [row(1, flat=3)], **LOST, **returns(most=2)))

    visits = [f"panels L1 north: visit {k}" for k in (1, 2)]
    assert lengths(diary, *(f"{visit}: move in" for visit in visits)) == [60, 60]
    names = taken(diary, draw)
    sets = [sum(name.endswith(f"up again, visit {k}") for name in names) for k in (1, 2)]
    assert sets == [2, 1]


def taken(diary, draw):
    return [name for name, skip in zip(diary.plan.names, draw.skip, strict=True) if not skip]


@pytest.mark.parametrize(("days", "visit"), [(1.5, 2), (2, 1)])
def test_nobody_waits_longer_than_so_many_days(tmp_path, days, visit):
    """Made anew within one day and within three."""
    draw, diary = played(site(tmp_path, [row(1, flat=1, sound=1)], **LOST, **returns(days=days)))

    names = taken(diary, draw)
    assert "panels L1 north: panel 1 again, visit 1" in names
    assert f"panels L1 north: panel 2 again, visit {visit}" in names


def test_the_last_visit_takes_whatever_is_left(tmp_path):
    draw, diary = played(site(tmp_path, [row(1, flat=1, sound=1)], **LOST, **returns(most=1, visits=1)))

    names = taken(diary, draw)
    assert {f"panels L1 north: panel {k} again, visit 1" for k in (1, 2)} <= set(names)
    assert spans(diary, "panels L1 north: panel 1 again, visit 1")[0][0] > 3 * DAY


def test_the_crane_changes_level_once_and_goes_along_it(tmp_path):
    """Set-up 60 and, from the zone where the crane stood or was last, 30; the hoist is asked for once."""
    rows = [row(level, zone, flat=1) for level in (1, 2) for zone in ("north", "south")]
    more = {"crane__level_move_needs": {"hoist": 1}, "trade__panels__after": [{"on": "handover"}]}
    ready = site(tmp_path, rows, **LOST, **returns(), **more)
    draw, diary = played(ready)

    names = [name for name in taken(diary, draw) if "L2" in name and "visit 1" in name]
    assert "panels L2 north: visit 1: move in" in names
    assert "panels L2 south: visit 1 along: move in" in names
    assert "panels L2 north: visit 1 along: move in" not in names
    assert "panels L2 south: visit 1: move in" not in names
    north, south = spans(diary, *(f"panels L2 {zone}: panel 1 again, visit 1" for zone in ("north", "south")))
    assert south[0] - north[1] == 30 + 60


def test_where_nearly_everything_goes_wrong_each_lost_panel_is_set_on_one_visit(tmp_path):
    terms = returns(most=2, days=3, visits=3)
    ready = wild_site(tmp_path / "a", trade__panels__hole="hold", **terms)
    other = wild_site(tmp_path / "b")
    plan, ledger = ready.tower.plan, Ledger(ready.tower)
    for trial in range(3):
        draw, diary = played(ready, seed=5, trial=trial)
        assert diary.unfinished == []
        again = ready.tower.set_again
        times = ((again >= 0) & ~draw.skip[again]).sum(axis=1)
        bad = draw.skip[ready.tower.panels]
        assert times.max() == 1
        assert times[bad].min() == 1
        steps = ready.tower.setting(draw.skip)
        assert len(set(steps.tolist())) == len(steps)
        assert not draw.skip[steps].any()
        for stamp in ("ready", "started", "finished", "enabler"):
            assert np.array_equal(getattr(run_compiled(plan, draw), stamp), getattr(diary, stamp))
        assert np.array_equal(ledger.of(draw, diary)[0].sum(axis=2), clocks(ledger, diary))
        lost_here = {plan.names[step].split(" again")[0] for step in again[(again >= 0) & ~draw.skip[again]]}
        alone = other.chooser.draw(5, trial)
        there = other.tower.set_again
        expected = there[(there >= 0) & ~alone.skip[there]]
        assert lost_here == {other.tower.plan.names[step].removesuffix(" again") for step in expected}
    assert lost(other, alone)
