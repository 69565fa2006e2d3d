"""Activities worked by hand: brackets take an hour a front, so the third front ends on Monday at 11:00."""

from math import exp, log

import numpy as np
import pytest

from support.small_site import BASE, DAY, TWO_ZONES, at, made, played
from towerpace.faults import InputError

MONDAY, TUESDAY = 0, 1


def one_activity(text: str) -> str:
    return f"[activity.crown]\n{text}\n"


def test_working_hours_pause_at_the_end_of_the_shift(tmp_path):
    """Ten hours from Monday 11:00: five on Monday, five on Tuesday."""
    crown = one_activity('work_h = 10\ncalendar = "site"\nafter = [{ on = "brackets", level = "all" }]')
    site = played(made(tmp_path, crown))

    assert site.span("crown") == (at(MONDAY, "11:00"), at(TUESDAY, "13:00"))


def test_lifts_follow_one_another_and_the_last_of_the_day_must_still_fit(tmp_path):
    """From 8:00, 10:30, 13:00; the fourth would end at 18:00, so it waits for Tuesday."""
    crown = one_activity('lift_min = 150\nlifts = 4\ncalendar = "site"\nneeds = { tower_crane = 1 }')
    site = played(made(tmp_path, crown))

    starts = [site.diary.started_at(f"crown: lift {k}") for k in (1, 2, 3)]
    assert starts == [at(MONDAY, "8:00"), at(MONDAY, "10:30"), at(MONDAY, "13:00")]
    assert site.span("crown") == (at(TUESDAY, "8:00"), at(TUESDAY, "10:30"))


def test_lifts_are_drawn_one_by_one(tmp_path):
    crown = one_activity(
        'lift_min = { low = 10, likely = 20, high = 60, shape = "pert" }\nlifts = 5\ncalendar = "site"'
    )
    site = played(made(tmp_path, crown))

    assert len({site.work(name) for name in ["crown", *(f"crown: lift {k}" for k in (1, 2, 3, 4))]}) > 1


def test_days_run_round_the_clock(tmp_path):
    """Two and a half days from Monday 11:00, when the last brackets are in."""
    crown = one_activity('days = 2.5\nafter = [{ on = "brackets", level = 3 }]')
    site = played(made(tmp_path, crown))

    assert site.span("crown") == (at(MONDAY, "11:00"), at(MONDAY, "11:00") + 3600)
    assert site.book()["activities"] == {"by the clock": 3600}
    assert site.adds_up()


def test_an_activity_does_not_begin_before_its_date(tmp_path):
    crown = one_activity('work_h = 1\ncalendar = "site"\nnot_before = 2027-03-04')

    assert played(made(tmp_path, crown)).span("crown") == (at(3, "8:00"), at(3, "9:00"))


@pytest.mark.parametrize(
    ("condition", "since"),
    [
        ('{ on = "brackets", level = 2 }', at(MONDAY, "10:00")),
        ('{ on = "brackets", level = "all" }', at(MONDAY, "11:00")),
        ('{ on = "brackets", level = 1, lag_h = 30 }', at(MONDAY, "9:00") + 30 * 60),
        ('{ on = "handover", level = 3 }', 0),
        ('{ on = "closing_in", level = 2 }', at(MONDAY, "10:00")),
        ('{ on = "permit" }', DAY),
    ],
)
def test_conditions_name_a_level_all_levels_or_another_activity(tmp_path, condition, since):
    tables = '[closing_in]\ntrades = ["brackets"]\n[activity.permit]\ndays = 1\n'
    site = played(made(tmp_path, tables, one_activity(f"days = 1\nafter = [{condition}]")))

    assert site.span("crown") == (since, since + DAY)


def test_all_levels_means_all_zones_too(tmp_path):
    """Four fronts by one gang: the last ends at noon."""
    crown = one_activity('days = 1\nafter = [{ on = "brackets", level = "all" }]')
    site = played(made(tmp_path, crown, levels=TWO_ZONES))

    assert site.diary.started_at("crown") == at(MONDAY, "12:00")


def test_a_trade_may_wait_for_an_activity_and_its_wait_is_called_by_its_name(tmp_path):
    """The seal of every front waits for the crane to go, from 9:00, 10:00, 11:00 to Wednesday 0:00."""
    base = BASE.replace("[trade.brackets]", "[activity.crane_out]\ndays = 2\n\n[trade.brackets]")
    seal = """
[trade.seal]
kind = "gang"
column = "brackets"
unit_min = 6
needs = { gang = 1 }
calendar = "site"
after = [{ on = "brackets" }, { on = "crane_out" }]
"""
    site = played(made(tmp_path, seal, base=base))

    assert site.span("seal L1 north") == (at(2, "8:00"), at(2, "9:00"))
    waited = sum(2 * DAY - at(MONDAY, clock) for clock in ("9:00", "10:00", "11:00"))
    assert site.book()["seal"]["after crane_out"] == waited
    assert site.book()["activities"] == {"by the clock": 2 * DAY}
    assert site.adds_up()


def test_a_trade_may_wait_for_so_many_hours_after_an_activity(tmp_path):
    base = BASE.replace('{ on = "handover" }', '{ on = "handover" }, { on = "permit", lag_h = 12 }')
    site = played(made(tmp_path, "[activity.permit]\ndays = 1", base=base))

    assert site.diary.started_at("brackets L1 north") == at(1, "12:00")


def test_an_activity_is_served_before_the_fronts_that_want_the_same_gang(tmp_path):
    """Ready together on Monday at 8:00, the activity first, though the front is the lowest."""
    crown = one_activity('work_h = 2\ncalendar = "site"\nneeds = { gang = 1 }')
    site = played(made(tmp_path, crown))

    assert site.span("crown") == (at(MONDAY, "8:00"), at(MONDAY, "10:00"))
    assert site.span("brackets L1 north") == (at(MONDAY, "10:00"), at(MONDAY, "11:00"))
    assert site.book()["brackets"]["waiting for gang"] > 0


def test_of_two_activities_the_first_in_the_file_is_served_first(tmp_path):
    two = "\n".join(
        f'[activity.{name}]\nwork_h = 2\ncalendar = "site"\nneeds = {{ tower_crane = 1 }}'
        for name in ("zeta", "alpha")
    )
    site = played(made(tmp_path, two))

    assert site.diary.started_at("zeta") == at(MONDAY, "8:00")
    assert site.diary.started_at("alpha") == at(MONDAY, "10:00")


GATE = """
[activity.anchors]
days = 1

[activity.crown]
days = 1
after = [{{ on = "anchors" }}]
concrete = {{ cast = {{ on = "anchors" }}, share = 0.75, {curve}, curing_temperature_degC = {degc} }}
"""


@pytest.mark.parametrize("degc", [20.0, 10.0])
@pytest.mark.parametrize(
    ("curve", "days"),
    [
        # t / (4 + 0.85 t) = 0.75 solved for t, ACI 209R-92 (from memory)
        ('cement = "I"', 3 / (1 - 0.75 * 0.85)),
        # exp(0.25 (1 - sqrt(28 / t))) = 0.75 solved for t, EN 1992-1-1:2004, equation 3.2 (from memory)
        ("s = 0.25", 28 / (1 - log(0.75) / 0.25) ** 2),
    ],
)
def test_the_gate_opens_at_the_equivalent_age_of_the_stated_strength(tmp_path, curve, days, degc):
    """ASTM C1074 (from memory): a day at 10 degC counts exp(-5000 (1/283 - 1/293)) = 0.547 days at 20."""
    site = played(made(tmp_path, GATE.format(curve=curve, degc=degc)))

    aged = exp(-5000 * (1 / (degc + 273) - 1 / 293))
    assert site.diary.started_at("crown") == DAY + round(days / aged * DAY)


def test_the_gate_counts_from_the_casting_not_from_other_conditions(tmp_path):
    gate = GATE.format(curve='cement = "I"', degc=20).replace(
        'after = [{ on = "anchors" }]', 'after = [{ on = "permit" }]'
    )
    site = played(made(tmp_path, "[activity.permit]\ndays = 9", gate))

    assert site.diary.started_at("crown") == DAY + round(3 / 0.3625 * DAY)


WEATHER = """
[weather]
record = "{record}"
record_height_m = 10
utc_offset_h = -5
height_law = "power"
gust_exponent = 0.2
missing_gust_factor = 1.33
generator = "replay"
replay_year = 2013

[limit.lift]
wind_above_m_s = 11.0
kind = "gust"
source = "invented"
"""


@pytest.mark.parametrize(
    ("where", "height"), [("level = 2", 8), ("height_m = 30", 30), ("level = 2\nheight_m = 30", 30)]
)
def test_wind_limits_are_held_at_the_height_stated_or_at_that_of_the_level(
    tmp_path, pytestconfig, where, height
):
    record = pytestconfig.rootpath / "scenarios" / "weather" / "laguardia_2013_hourly.csv"
    (tmp_path / "record.csv").write_bytes(record.read_bytes())
    crown = one_activity(f'lift_min = 60\nlifts = 1\ncalendar = "site"\nlimits = ["lift"]\n{where}')
    plan = made(tmp_path, WEATHER.format(record="record.csv"), crown).tower.plan

    window = plan.windows[plan.window[plan.index["crown"]]]
    assert window.name == f"site, lift at {height} m"
    assert window.limits[0].ratio == pytest.approx((height / 10) ** 0.2)


def test_an_activity_more_leaves_the_draws_of_all_others_alone(tmp_path):
    base = BASE.replace("unit_min = 6", 'unit_min = { low = 4, likely = 6, high = 12, shape = "pert" }')
    without = played(made(tmp_path / "a", base=base))
    having = played(
        made(
            tmp_path / "b",
            one_activity('days = { low = 1, likely = 2, high = 5, shape = "pert" }'),
            base=base,
        )
    )

    shared = [name for name in without.ready.tower.plan.names if name.startswith("brackets")]
    assert [without.work(name) for name in shared] == [having.work(name) for name in shared]


def test_the_drawn_length_has_the_stated_mean(tmp_path):
    """Beta-PERT 1, 2, 5 days: mean 14 / 6 days, sd 0.713 days (a beta law with a = 2, b = 4)."""
    ready = made(tmp_path, one_activity('days = { low = 1, likely = 2, high = 5, shape = "pert" }'))
    step = ready.tower.plan.index["crown"]
    days = np.array([ready.chooser.draw(3, trial).work[step] for trial in range(2000)]) / DAY

    sd = 4 * np.sqrt(2 * 4 / (6**2 * 7))
    assert abs(days.mean() - 14 / 6) < 4 * sd / np.sqrt(2000)


def test_a_circle_over_several_levels_is_refused_in_the_names_of_its_steps(tmp_path):
    """Brackets of level 2 wait for the seal of level 1, it for the crown, that for brackets of level 2."""
    base = BASE.replace('{ on = "handover" }', '{ on = "handover" }, { on = "seal", levels_up = -1 }')
    seal = """
[trade.seal]
kind = "gang"
column = "brackets"
unit_min = 6
needs = { gang = 1 }
calendar = "site"
after = [{ on = "crown" }]
"""
    crown = one_activity('days = 1\nafter = [{ on = "brackets", level = 2 }]')
    with pytest.raises(InputError, match=r"cycle: .*crown after brackets L2 north"):
        made(tmp_path, seal, crown, base=base)


def test_a_lift_longer_than_every_shift_is_refused(tmp_path):
    with pytest.raises(InputError, match="expected to last 600 min"):
        made(tmp_path, one_activity('lift_min = 600\nlifts = 1\ncalendar = "site"'))
