"""Faults of activities: the one line that a user reads."""

import pytest

from support.broken_once import KNOWN, ONCE, faults, faults_of_broken
from support.small_site import written
from towerpace.scenario import load

CASES = {
    "no length": (
        "days = 3",
        "",
        "activity.anchors: missing its length; allowed: exactly one of work_h, lift_min, days",
    ),
    "two lengths": (
        "days = 3",
        "days = 3\nwork_h = 2",
        "activity.anchors.days: found a second of work_h, lift_min, days; allowed: only work_h",
    ),
    "lifts of no length": (
        "lifts = 2",
        "",
        "activity.crown.lifts: missing; allowed: a whole number, at least 1, because lift_min is given",
    ),
    "lifts without lift_min": (
        "days = 3",
        "days = 3\nlifts = 2",
        "activity.anchors.lifts: found 2; allowed: lifts only with lift_min",
    ),
    "work without a calendar": (
        'work_h = 20\ncalendar = "site"',
        "work_h = 20",
        "activity.tests.calendar: missing; allowed: a calendar, because the work keeps working hours",
    ),
    "days in a calendar": (
        "days = 3",
        'days = 3\ncalendar = "site"',
        'activity.anchors.calendar: found "site"; allowed: no calendar with days, which run round the clock',
    ),
    "unknown calendar": (
        'lifts = 2\ncalendar = "site"',
        'lifts = 2\ncalendar = "sight"',
        'activity.crown.calendar: found "sight"; allowed: site; nearest: site',
    ),
    "unknown resource": (
        "{ tower_crane = 1 }",
        "{ tower_carne = 1 }",
        'activity.crown.needs.tower_carne: found "tower_carne"; allowed: gang, tower_crane; '
        "nearest: tower_crane",
    ),
    "more than there is": (
        "{ tower_crane = 1 }",
        "{ tower_crane = 2 }",
        'activity.crown.needs.tower_crane: found 2 of "tower_crane"; '
        "allowed: at most resource.tower_crane.count, which is 1",
    ),
    "condition on nothing known": (
        '{ on = "crown" }, { on = "mock_up" }',
        '{ on = "crwon" }, { on = "mock_up" }',
        f'activity.tests.after[0].on: found "crwon"; allowed: {KNOWN}; nearest: crown',
    ),
    "trade without a level": (
        '{ on = "brackets", level = "all" }',
        '{ on = "brackets" }',
        'activity.crown.after[0].level: missing; allowed: a level, or "all"',
    ),
    "level of no sense": (
        'level = "all"',
        'level = "every"',
        'activity.crown.after[0].level: found "every"; allowed: a level, or "all"',
    ),
    "activity with a level": (
        '[{ on = "crown" }, {',
        '[{ on = "crown", level = 2 }, {',
        "activity.tests.after[0].level: found 2; allowed: no level, crown happens once",
    ),
    "level that the tower has not": (
        '{ on = "water_test", level = 1 }',
        '{ on = "water_test", level = 9 }',
        "activity.tests.after[2].level: found 9; allowed: a level from 1 to 3",
    ),
    "own level that the tower has not": (
        'calendar = "site"\nlevel = 3',
        'calendar = "site"\nlevel = 7',
        "activity.crown.level: found 7; allowed: a level from 1 to 3",
    ),
    "a name that is taken": (
        "[activity.anchors]\ndays = 3",
        "[activity.anchors]\ndays = 3\n[activity.joints]\ndays = 1",
        "activity.joints: found an activity of this name; "
        "allowed: any name but handover, closing_in, water_test, "
        "leave_outs, mock_up, work, lift, curing, brackets, joints",
    ),
    "before the start": (
        "days = 3",
        "days = 3\nnot_before = 2027-02-01",
        "activity.anchors.not_before: found 2027-02-01; "
        "allowed: a date on or after tower.start, which is 2027-03-01",
    ),
    "no curve of strength": (
        'cement = "I"',
        "",
        "activity.spire.concrete: missing the curve; allowed: exactly one of cement, s",
    ),
    "two curves of strength": (
        'cement = "I"',
        'cement = "I"\ns = 0.25',
        "activity.spire.concrete.s: found a second of cement, s; allowed: only cement",
    ),
    "cement of another kind": (
        'cement = "I"',
        'cement = "II"',
        'activity.spire.concrete.cement: found "II"; allowed: "I" or "III"; nearest: III',
    ),
    "frozen concrete": (
        "curing_temperature_degC = 15",
        "curing_temperature_degC = -2",
        "activity.spire.concrete.curing_temperature_degC: found -2; "
        "allowed: a number at least 0 and at most 60",
    ),
    "concrete that nobody casts": (
        'cast = { on = "anchors" }',
        'cast = { on = "ankors" }',
        f'activity.spire.concrete.cast.on: found "ankors"; allowed: {KNOWN}; nearest: anchors',
    ),
    "a circle through an activity": (
        '{ on = "brackets", level = "all" }',
        '{ on = "joints", level = "all" }',
        "trade.joints.after[1].on: found joints after crown after joints; "
        "allowed: a sequence without a circle on one level (levels_up = 0)",
    ),
    "an activity after itself": (
        '[{ on = "crown" }, {',
        '[{ on = "tests" }, {',
        "activity.tests.after[0].on: found tests after tests; "
        "allowed: a sequence without a circle on one level (levels_up = 0)",
    ),
    "the mock-up in a circle": (
        'start = 2027-03-02\nafter = [{ on = "anchors" }]',
        'start = 2027-03-02\nafter = [{ on = "tests" }]',
        "activity.tests.after[1].on: found tests after mock_up after tests; "
        "allowed: a sequence without a circle on one level (levels_up = 0)",
    ),
    "a tested closing-in in a circle": (
        'calendar = "site"\nafter = [{ on = "brackets" }]\n\n[trade.joints]',
        'calendar = "site"\nafter = [{ on = "closing_in" }]\n\n[trade.joints]',
        "closing_in.tests: found closing_in after water_test after closing_in; "
        "allowed: a sequence without a circle on one level (levels_up = 0)",
    ),
    "a front a level up of what happens once": (
        '{ on = "closing_in" }, { on = "crown" }',
        '{ on = "closing_in" }, { on = "crown", levels_up = 1 }',
        "trade.joints.after[1].levels_up: found 1; allowed: no levels_up, crown happens once",
    ),
    "a front after nothing known": (
        '{ on = "closing_in" }, { on = "crown" }',
        '{ on = "closing_in" }, { on = "corwn" }',
        f'trade.joints.after[1].on: found "corwn"; allowed: {KNOWN}; nearest: crown',
    ),
}


@pytest.mark.parametrize(("old", "new", "text"), CASES.values(), ids=CASES)
def test_one_broken_passage_gives_one_line(tmp_path, old, new, text):
    assert faults_of_broken(tmp_path, old, new) == [text]


def test_the_whole_vocabulary_loads(tmp_path):
    load(written(tmp_path, ONCE))


def test_a_wind_limit_of_an_activity_needs_a_height(tmp_path):
    weather = """
[weather]
record = "levels.csv"
record_height_m = 10
utc_offset_h = 0
height_law = "power"
gust_exponent = 0.2
missing_gust_factor = 1.33
generator = "replay"

[limit.lift]
wind_above_m_s = 11
kind = "gust"
source = "invented"

[activity.crown]
lift_min = 60
lifts = 1
calendar = "site"
limits = ["lift"]
"""
    assert faults(tmp_path, weather) == [
        'activity.crown.limits[0]: found "lift" without a height; '
        "allowed: height_m or level beside a limit on wind"
    ]


def test_limits_without_weather_are_refused(tmp_path):
    toml = ONCE.replace("lifts = 2", 'lifts = 2\nlimits = ["lift"]')

    assert faults(tmp_path, toml) == [
        'weather: missing; allowed: a table [weather], because activity.crown.limits[0] names "lift"'
    ]


def test_what_has_no_table_cannot_be_waited_for(tmp_path):
    toml = '[activity.crown]\ndays = 1\nafter = [{ on = "water_test", level = 1 }, { on = "mock_up" }]\n'
    test, mock_up = faults(tmp_path, toml)

    assert test == (
        'activity.crown.after[0].on: found "water_test"; allowed: water_test only with a table [water_test]'
    )
    assert (
        mock_up
        == 'activity.crown.after[1].on: found "mock_up"; allowed: handover, closing_in, crown, brackets'
    )


def test_every_fault_is_told_at_once(tmp_path):
    toml = ONCE.replace("most_tries = 3", "most_tries = 0").replace(
        'on = "crown"\ndelay', 'on = "crow"\ndelay'
    )
    toml = toml.replace("days = 3", "")

    assert len(faults(tmp_path, toml)) == 3


def test_a_floor_crane_cannot_be_taken_by_an_activity(tmp_path):
    crane = """
[crane]
resource = "tower_crane"
set_up_min = 1
zone_move_min = 1
level_move_min = 1
per_level_min = 1
panels_per_position = 1
reposition_min = 1

[activity.crown]
days = 1
needs = { tower_crane = 1 }
"""
    assert faults(tmp_path, crane) == [
        'activity.crown.needs.tower_crane: found the floor crane "tower_crane"; '
        "allowed: no floor crane: it stands on fronts"
    ]
