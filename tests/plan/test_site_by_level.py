"""Activities that go level by level, by hand: eight hours a day from 8:00, three levels of one zone."""

import pytest

from support.broken_once import faults
from support.panel_site import played as panels_played
from support.panel_site import row, spans
from support.panel_site import site as panel_site
from support.small_site import at, made, played
from towerpace.engine.kernel.run import run as run_compiled

MONDAY, TUESDAY = 0, 1
PAIRS = "[resource.pair]\ncount = 2\n"


def activity(name, text):
    return f'[activity.{name}]\ncalendar = "site"\n{text}\n'


def clock(site, *steps):
    """Start and end of steps on Monday, in hours."""
    return [tuple(minute / 60 for minute in site.span(step)) for step in steps]


def test_one_follows_the_other_down_with_a_lead_and_never_overtakes_it(tmp_path):
    """The mast takes two hours a level from 8:00; strips keep a level above it, the lowest waits for all."""
    mast = activity("mast", "work_h = 2\nlevels = [3, 1]")
    strips = activity("strips", 'work_h = 1\nlevels = [3, 1]\nafter = [{ on = "mast", levels_up = -1 }]')
    site = played(made(tmp_path, mast, strips))

    assert clock(site, "mast L3", "mast L2", "mast L1") == [(8, 10), (10, 12), (12, 14)]
    assert clock(site, "strips L3", "strips L2", "strips L1") == [(12, 13), (14, 15), (15, 16)]
    assert clock(site, "mast", "strips") == [(14, 14), (16, 16)]
    assert site.adds_up()


def test_before_its_first_level_an_activity_holds_nobody(tmp_path):
    mast = activity("mast", "work_h = 2\nlevels = [2, 1]")
    strips = activity("strips", 'work_h = 1\nlevels = [3, 1]\nafter = [{ on = "mast", levels_up = 0 }]')
    site = played(made(tmp_path, mast, strips))

    assert clock(site, "strips L3", "strips L2", "strips L1") == [(8, 9), (10, 11), (12, 13)]


def test_out_of_turn_whatever_gangs_are_free_take_the_levels_in_their_order(tmp_path):
    text = "work_h = 2\nlevels = [3, 1]\nin_turn = false\nneeds = { pair = 1 }"
    site = played(made(tmp_path, PAIRS, activity("snag", text)))

    assert clock(site, "snag L3", "snag L2", "snag L1", "snag") == [(8, 10), (8, 10), (10, 12), (12, 12)]


def test_bands_and_units_say_how_long_a_go_takes(tmp_path):
    """Ten brackets a level at six minutes: two hours for two levels. Twelve, twelve and no flat panels."""
    mast = activity("mast", 'work_h = 0.1\nlevels = [1, 3]\nband_levels = 2\ncolumn = "brackets"')
    strips = activity("strips", 'work_h = 0.25\nlevels = [3, 1]\ncolumn = "flat"')
    site = played(made(tmp_path, mast, strips))

    assert clock(site, "mast L1 to L2", "mast L3") == [(8, 10), (10, 11)]
    assert clock(site, "strips L2", "strips L1") == [(8, 11), (11, 14)]
    assert site.span("strips L3") == (0, 0)


def test_hours_are_drawn_once_for_all_levels_and_lifts_one_by_one(tmp_path):
    spread = '{ low = 30, likely = 60, high = 200, shape = "pert" }'
    lifts = activity("lifts", f"lift_min = {spread}\nlifts = 2\nlevels = [1, 2]")
    site = played(made(tmp_path, activity("mast", f"work_h = {spread}\nlevels = [1, 3]"), lifts))

    assert len({site.work(f"mast L{level}") for level in (1, 2, 3)}) == 1
    assert len({site.work(f"lifts L{level}{k}") for level in (1, 2) for k in ("", ": lift 1")}) == 4


def test_lags_and_the_date_hold_on_every_level(tmp_path):
    mast = activity("mast", "work_h = 1\nlevels = [3, 1]\nnot_before = 2027-03-02")
    lag = 'after = [{ on = "mast", levels_up = 0, lag_h = 2 }]'
    site = played(made(tmp_path, mast, activity("strips", f"work_h = 1\nlevels = [3, 1]\n{lag}")))

    assert site.span("mast L3") == (at(TUESDAY, "8:00"), at(TUESDAY, "9:00"))
    assert [site.diary.started_at(f"strips L{k}") for k in (3, 2, 1)] == [
        at(TUESDAY, hour) for hour in ("11:00", "12:00", "13:00")
    ]


def test_a_trade_and_an_activity_without_levels_follow_too(tmp_path):
    """Levels 3, 2 and 1 at 10:00, 12:00 and 14:00; an hour of each front."""
    seal = """
[trade.seal]
kind = "gang"
column = "brackets"
unit_min = 6
needs = { tower_crane = 1 }
calendar = "site"
after = [{ on = "mast" }]
"""
    tables = [
        activity("mast", "work_h = 2\nlevels = [3, 1]"),
        seal,
        '[activity.early]\ndays = 1\nafter = [{ on = "mast", level = 2 }]',
        '[activity.late]\ndays = 1\nafter = [{ on = "mast" }]',
    ]
    site = played(made(tmp_path, *tables))

    assert clock(site, "seal L3 north", "seal L2 north", "seal L1 north") == [(10, 11), (12, 13), (14, 15)]
    assert [site.diary.started_at(name) for name in ("early", "late")] == [at(0, "12:00"), at(0, "14:00")]


def test_leave_outs_follow_a_hoist_that_comes_down(tmp_path):
    """The mast stands till both closings-in; its upper half is down a day later, and releases level 2."""
    rows = [row(1, flat=2, left=1), row(2, flat=2, left=1)]
    left = {"column": "left", "set_factor": 2, "crane": False, "order": "down"}
    mast = {"days": 1, "levels": [2, 1], "removes": {"hoist": "all"}}
    after = [{"on": "closing_in", "level": "all"}]
    more = {
        "activity": {"mast": {**mast, "after": after}},
        "leave_outs": {**left, "after": [{"on": "mast"}]},
    }
    ready = panel_site(tmp_path, rows, **more)
    draw, diary = panels_played(ready)

    top, bottom = spans(diary, "mast L2", "mast L1")
    assert (top[1] - top[0], bottom) == (1440, (top[1], top[1] + 1440))
    assert [diary.started_at(f"panels L{level} north: panel 2") for level in (2, 1)] == [top[1], bottom[1]]
    assert (run_compiled(ready.tower.plan, draw).started == diary.started).all()


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("levels = [3]", "levels: found a list; allowed: a list of two levels"),
        ("levels = [3, 4]", "levels[1]: found 4; allowed: a level from 1 to 3"),
        ("levels = [2, 2]", "levels: found a list; allowed: two levels, the first and another as the last"),
        ("in_turn = false", "in_turn: found false; allowed: in_turn only with levels"),
        ("levels = [3, 1]\nlevel = 2", "level: found 2; allowed: level or levels, not both"),
        ('levels = [3, 1]\ncolumn = "flats"', 'column: found "flats"; allowed: a count column of '),
        (
            'levels = [3, 1]\nafter = [{ on = "brackets" }]',
            'after[0].level: missing; allowed: a level, or "all", or levels_up',
        ),
        (
            'after = [{ on = "brackets", levels_up = 1 }]',
            "after[0].levels_up: found 1; allowed: level: only an activity with levels counts from its own",
        ),
        (
            "levels = [3, 1]\nremoves = { gang = 1 }\nin_turn = false",
            "in_turn: found false; allowed: true with removes: units leave with the last level",
        ),
        (
            'after = [{ on = "other", level = 1 }]',
            "after[0].level: found 1; allowed: a level from 2 to 3, those of other",
        ),
    ],
)
def test_what_does_not_go_with_levels_is_told(tmp_path, text, fault):
    other = activity("other", "work_h = 1\nlevels = [3, 2]")
    told = faults(tmp_path, other + activity("mast", f"work_h = 1\n{text}"))

    assert len(told) == 1
    assert told[0].startswith(f"activity.mast.{fault}")
