"""Leave-outs, by hand (see support.panel_site): panel 2 of each front is left out at a tie."""

import numpy as np
import pytest

from support.panel_site import DAY, played, row, site, spans

ROWS = [row(1, flat=2, left=1), row(2, flat=2, left=1)]
LEFT = {"column": "left", "after": [{"on": "closing_in"}], "set_factor": 2, "crane": True, "order": "down"}
FIRST, SECOND = "panels L1 north: panel 2", "panels L2 north: panel 2"


def left_out(**changes):
    return {"leave_outs": {**LEFT, **changes}}


def test_from_the_top_down(tmp_path):
    _, diary = played(site(tmp_path, ROWS, **left_out()))

    # Only panel 1 of each front at first: level 1 98-148, up 120 + 60, level 2 328-378.
    assert spans(diary, "panels L1 north: panel 1", "panels L2 north: panel 1") == [(98, 148), (328, 378)]
    assert [diary.finished_at(f"closing-in of L{level}") for level in (1, 2)] == [148, 378]
    # The crane stands on level 2: 60 to set up, twice 50 to set; down 120 + 60 to level 1.
    assert spans(diary, "leave-outs L2 north: move in", SECOND) == [(378, 438), (438, 538)]
    assert spans(diary, "leave-outs L1 north: move in", FIRST) == [(538, 718), (718, 818)]
    assert diary.finish == 818


def test_from_the_bottom_up(tmp_path):
    _, diary = played(site(tmp_path, ROWS, **left_out(order="up")))

    # Level 1 is closed in at 148, and the lower front goes before the next level.
    assert spans(diary, "leave-outs L1 north: move in", FIRST) == [(148, 208), (208, 308)]
    assert spans(diary, "panels L2 north: panel 1") == [(488, 538)]
    assert spans(diary, "leave-outs L2 north: move in", SECOND) == [(538, 598), (598, 698)]


def test_by_hand_without_a_crane(tmp_path):
    _, diary = played(site(tmp_path, ROWS, **left_out(crane=False)))

    assert spans(diary, SECOND, FIRST) == [(378, 478), (478, 578)]


def test_trades_and_activities_wait_for_leave_outs_by_their_name(tmp_path):
    rows = [row(1, flat=2, left=1, joints=3), row(2, flat=2, left=1, joints=3)]
    seal = {"trade__seal__after": [{"on": "leave_outs"}]}
    snag = {"activity": {"snag": {"days": 1, "after": [{"on": "leave_outs", "level": "all"}]}}}
    _, diary = played(site(tmp_path, rows, **left_out(), **seal, **snag))

    assert spans(diary, "seal L2 north", "seal L1 north") == [(538, 568), (818, 848)]
    assert diary.started_at("snag") == 818


def test_one_that_breaks_is_made_again_and_does_not_hold_the_next(tmp_path):
    loss = {"family__flat__handling_break_chance": 1, "family__flat__remake_days": 1}
    ready = site(tmp_path, ROWS, **left_out(after=[{"on": "handover"}], crane=False), **loss)
    _, diary = played(ready)

    # Both are closed, and broken, before the new panels of the fronts have come; twice 50 min each time.
    first, second = spans(diary, FIRST, SECOND)
    assert (first[0] - second[1], first[1] - first[0], second[1] - second[0]) == (0, 100, 100)
    assert spans(diary, f"{SECOND} made again") == [(second[1], second[1] + DAY)]
    assert diary.finished_at(f"{SECOND} again") - diary.started_at(f"{SECOND} again") == 100
    assert diary.finished_at("leave-outs L2 north") == diary.finished_at(f"{SECOND} again")


def test_one_that_was_bad_is_made_anew_from_the_day_it_came_up(tmp_path):
    rows = [row(1, sound=1, flat=1, left=1)]
    loss = {"family__flat__reject_chance": 1, "family__flat__remake_days": 1}
    ready = site(tmp_path, rows, trade__panels__families=["sound", "flat"], **left_out(), **loss)
    _, diary = played(ready)

    came = diary.finished_at("panels L1 north: crate 2 up")
    assert spans(diary, f"{FIRST} remade") == [(came, came + DAY)]
    assert diary.started_at("leave-outs L1 north: move in") == came + DAY
    assert diary.finish == came + DAY + 60 + 100


@pytest.mark.parametrize("left", [1, 2, 3, 5])
def test_whatever_is_left_out_every_crate_gives_its_slot_back(tmp_path, left):
    """Two crates of three panels; one zone after the other needs both slots of the level."""
    rows = [row(1, zone, flat=5, left=left) for zone in ("north", "south")]
    ready = site(tmp_path, rows, storage={"slots_per_level": 2}, **left_out())
    _, diary = played(ready)

    assert diary.unfinished == []
    numbers = [name for name in ready.tower.plan.names if name.startswith("panels L1 north: panel ")]
    assert len(numbers) == 5
    assert len(ready.tower.panels) == 10


def test_a_panel_is_lost_at_most_once(tmp_path):
    """Bad when unpacked, so made anew, so not broken again though every lift breaks."""
    loss = {f"family__flat__{cause}_chance": 1 for cause in ("reject", "handling_break")}
    ready = site(tmp_path, [row(1, flat=1, left=1)], **left_out(), **loss, family__flat__remake_days=1)
    draw, diary = played(ready)

    index, only = ready.tower.plan.index, "panels L1 north: panel 1"
    assert not draw.skip[index[f"{only} remade"]]
    assert draw.skip[index[f"{only} made again"]]
    assert diary.finish == diary.finished_at(only)


def test_none_is_broken_later(tmp_path):
    """Nobody works there any more, so the chance touches neither it nor any other step."""
    loss = {"family__flat__later_break_chance": 1, "family__flat__handling_break_chance": 0.5}
    days = {"family__flat__remake_days": 1, "family__flat__later_found_days": 1, "family__flat__spares": 1}
    ready = site(tmp_path, [row(1, flat=1, left=1)], **left_out(), **loss, **days, family__flat__spare_days=0)
    names, plan = ready.tower.plan.names, ready.tower.plan

    for trial in range(8):
        draw = ready.chooser.draw(1, trial)
        changed = [names[i] for i in np.flatnonzero(draw.work != plan.work)]
        assert all("made again" in name for name in changed), changed


def test_a_front_whose_only_panels_at_risk_are_left_out_has_no_holes(tmp_path):
    loss = {"family__flat__reject_chance": 1, "family__flat__remake_days": 1}
    rows = [row(1, sound=1, flat=1, left=1)]
    ready = site(tmp_path, rows, trade__panels__families=["sound", "flat"], **left_out(), **loss)

    assert "panels L1 north: holes closed" not in ready.tower.plan.index


def test_they_wait_for_what_happens_once(tmp_path):
    """The hoist comes out in a day once all is closed in at 378; then 60 to set up and 100 to set."""
    out = {"hoist_out": {"days": 1, "after": [{"on": "closing_in", "level": "all"}]}}
    changes = left_out(after=[{"on": "hoist_out"}])
    _, diary = played(site(tmp_path, ROWS, activity=out, **changes))

    assert spans(diary, "hoist_out", "leave-outs L2 north: move in") == [(378, 1818), (1818, 1878)]
