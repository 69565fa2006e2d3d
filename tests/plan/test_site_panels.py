"""Panels that are lost: minutes worked by hand on a site with certain durations (see support.panel_site).

Until the first panel it is always the same: truck unloaded 0-30, crate up 30-38, crane set up 38-98.
"""

import pytest

from support.panel_site import DAY, played, row, site, spans
from towerpace.draws import as_planned
from towerpace.engine.reference import run

LOST = {"family__flat__remake_days": 1}
P = "panels L1 north: panel"


def test_without_losses_the_panels_follow_each_other(tmp_path):
    ready = site(tmp_path, [row(1, flat=3)])
    _, diary = played(ready)

    assert spans(diary, f"{P} 1", f"{P} 2", f"{P} 3") == [(98, 148), (148, 198), (198, 248)]
    assert diary.finish == 248


@pytest.mark.parametrize("cause", ["reject_chance", "transit_break_chance"])
def test_a_panel_found_bad_when_unpacked_takes_no_time_and_a_new_one_is_set_on_a_return_visit(
    tmp_path, cause
):
    ready = site(tmp_path, [row(1, flat=3)], **{f"family__flat__{cause}": 1}, **LOST)
    _, diary = played(ready)

    assert spans(diary, f"{P} 1", f"{P} 2", f"{P} 3") == [(98, 98)] * 3
    assert spans(diary, *(f"{P} {k} remade" for k in (1, 2, 3))) == [(98, 98 + DAY)] * 3
    assert spans(diary, *(f"{P} {k} up again" for k in (1, 2, 3))) == [
        (1538, 1546),
        (1546, 1554),
        (1554, 1562),
    ]
    # Gang and crane set up anew for each: 60 + 50 min.
    assert spans(diary, *(f"{P} {k} return: move in" for k in (1, 2, 3))) == [
        (1546, 1606),
        (1656, 1716),
        (1766, 1826),
    ]
    assert spans(diary, *(f"{P} {k} again" for k in (1, 2, 3))) == [(1606, 1656), (1716, 1766), (1826, 1876)]
    assert diary.finished_at("closing-in of L1") == diary.finish == 1876


def test_a_panel_broken_while_it_is_set_takes_its_full_time_first(tmp_path):
    factor = {"trade__panels__return_set_factor": 1.5}
    ready = site(tmp_path, [row(1, flat=3)], family__flat__handling_break_chance=1, **LOST, **factor)
    _, diary = played(ready)

    assert spans(diary, f"{P} 1", f"{P} 2", f"{P} 3") == [(98, 148), (148, 198), (198, 248)]
    assert spans(diary, f"{P} 1 remade", f"{P} 1 up again") == [(148, 1588), (1588, 1596)]
    # Alone in its gap: 75 min instead of 50.
    assert spans(diary, f"{P} 1 return: move in", f"{P} 1 again") == [(1596, 1656), (1656, 1731)]
    assert spans(diary, f"{P} 2 return: move in", f"{P} 2 again") == [(1731, 1791), (1791, 1866)]
    assert diary.finish == 2001


def test_a_panel_that_does_not_fit_takes_longer_on_the_spot(tmp_path):
    ready = site(tmp_path, [row(1, flat=3)], family__flat__misfit_chance=1, family__flat__misfit_min=20)
    _, diary = played(ready)

    assert spans(diary, f"{P} 1", f"{P} 2", f"{P} 3") == [(98, 168), (168, 238), (238, 308)]


def test_a_new_panel_that_does_not_fit_takes_longer_on_its_return_visit(tmp_path):
    misfit = {"family__flat__misfit_chance": 1, "family__flat__misfit_min": 20}
    ready = site(tmp_path, [row(1, flat=1)], family__flat__handling_break_chance=1, **LOST, **misfit)
    _, diary = played(ready)

    assert spans(diary, f"{P} 1", f"{P} 1 again") == [(98, 148), (1656, 1726)]


def test_the_first_losses_in_planned_order_come_from_stock(tmp_path):
    stock = {"family__flat__spares": 2, "family__flat__spare_days": 0.5}
    rows = [row(1, flat=1), row(2, flat=2)]
    ready = site(tmp_path, rows, family__flat__reject_chance=1, family__flat__remake_days=3, **stock)
    draw, _ = played(ready)

    index = ready.tower.plan.index
    names = [f"{P} 1", "panels L2 north: panel 1", "panels L2 north: panel 2"]
    assert [draw.work[index[f"{name} remade"]] for name in names] == [DAY // 2, DAY // 2, 3 * DAY]


def test_a_panel_broken_later_is_found_after_closing_in_and_holds_only_the_finish(tmp_path):
    later = {"family__flat__later_break_chance": 1, "family__flat__later_found_days": 2}
    ready = site(tmp_path, [row(1, flat=3)], **later, **LOST)
    _, diary = played(ready)

    assert diary.finished_at("closing-in of L1") == 248
    assert spans(diary, f"{P} 1 replacement made") == [(248, 248 + 3 * DAY)]
    visit = (f"{P} 1 replacement: move in", f"{P} 1 replaced")
    assert spans(diary, *visit) == [(4568, 4628), (4628, 4678)]
    assert diary.finish == 4568 + 3 * 110


def test_a_hole_that_holds_keeps_the_zone_above_and_the_trades_after_it_waiting(tmp_path):
    rows = [row(1, flat=1, joints=6), row(2, sound=1)]
    loss = {"family__flat__reject_chance": 1, **LOST}
    _, back = played(site(tmp_path / "a", rows, **loss))
    _, hold = played(site(tmp_path / "b", rows, trade__panels__hole="hold", **loss))

    seal, above = "seal L1 north", "panels L2 north: move in"
    # Return: seal and the level above go on at 98; the crane comes down again, 120 + 60 min.
    assert spans(back, seal, above) == [(98, 158), (98, 278)]
    assert spans(back, f"{P} 1 return: move in", f"{P} 1 again") == [(1546, 1726), (1726, 1776)]
    # Hold: the crane stands there still; all others wait for the panel.
    assert spans(hold, f"{P} 1 return: move in", f"{P} 1 again") == [(1546, 1606), (1606, 1656)]
    assert spans(hold, seal, above) == [(1656, 1716), (1656, 1836)]
    assert [back.finished_at("closing-in of L1"), hold.finished_at("closing-in of L1")] == [1776, 1656]


def test_a_sheeted_hole_keeps_closing_in_no_longer_than_the_other_panels(tmp_path):
    rows = [row(1, flat=3), row(2, sound=1)]
    ready = site(tmp_path, rows, trade__panels__hole="infill", family__flat__handling_break_chance=1, **LOST)
    _, diary = played(ready)

    assert diary.finished_at("closing-in of L1") == diary.finished_at(f"{P} 3") == 248
    assert diary.finish == max(diary.finished_at(f"{P} {k} again") for k in (1, 2, 3)) > DAY


def test_a_hole_that_holds_does_so_without_a_condition_of_the_trade(tmp_path):
    rows = [row(1, flat=1), row(2, sound=1)]
    changes = {"trade__panels__hole": "hold", "trade__panels__after": [{"on": "handover"}]}
    _, diary = played(site(tmp_path, rows, family__flat__reject_chance=1, **LOST, **changes))

    assert diary.started_at("panels L2 north: move in") == diary.finished_at(f"{P} 1 again")


def test_a_crate_of_bad_panels_gives_its_floor_slot_and_its_gang_back(tmp_path):
    """Without that the second crate would wait for ever: one slot, one gang."""
    rows = [row(1, flat=3), row(1, "south", flat=3)]
    ready = site(tmp_path, rows, family__flat__reject_chance=1, storage={"slots_per_level": 1}, **LOST)
    _, diary = played(ready)

    assert diary.started_at("panels L1 south: floor slots") == diary.finished_at(f"{P} 3")
    assert diary.unfinished == []


def test_nobody_plans_for_losses(tmp_path):
    """With every duration as planned the finish is that of a site on which nothing can be lost."""
    chances = {f"family__flat__{cause}_chance": 0.9 for cause in ("reject", "handling_break", "later_break")}
    more = {"family__flat__later_found_days": 4, **LOST, **chances}
    rows = [row(1, flat=3), row(2, flat=2)]
    calm = site(tmp_path / "a", rows).tower.plan
    risky = site(tmp_path / "b", rows, **more).tower.plan

    assert run(risky, as_planned(risky)).finish == run(calm, as_planned(calm)).finish


def test_a_chance_of_nothing_changes_no_step(tmp_path):
    never = {
        f"family__flat__{cause}_chance": 0 for cause in ("reject", "transit_break", "later_break", "misfit")
    }
    calm, same = site(tmp_path / "a", [row(1, flat=3)]), site(tmp_path / "b", [row(1, flat=3)], **never)

    assert calm.tower.plan.names == same.tower.plan.names


def test_a_site_without_a_panel_is_drawn(tmp_path):
    """Nothing is driven, lifted or lost there: the laws have nothing to draw."""
    ready = site(tmp_path, [row(1)])
    assert run(ready.tower.plan, ready.chooser.draw(1, 0)).finish is not None
