"""Other hours of a calendar between dates, by hand: shifts, working days, costs, what is refused."""

import datetime as dt

import numpy as np
import pytest

from support.small_site import BASE, at, made, played, written
from towerpace.answers.cautions import hours_cautions
from towerpace.answers.cost import PARTS, cost_book
from towerpace.answers.days import Days
from towerpace.answers.prepare import prepare
from towerpace.engine.kernel.run import run as run_compiled
from towerpace.faults import InputError
from towerpace.plan.site.working_hours import calendar_shifts, hours_added
from towerpace.scenario import load
from towerpace.scenario.schema import Calendar

# One front of ten brackets of eight hours: ten shifts of the usual week, Monday 1 March to Friday 12 March.
ONE = "level,zone,height_m,difficulty,handover,brackets\n1,north,4.0,1.0,2027-03-01,10\n"
LONG = BASE.replace("unit_min = 6", "unit_min = 480")
COST = '[cost]\nunit = "k"\nsite_overhead_per_day = 0\n'
SATURDAYS = """
[[calendar.site.dated]]
from = 2027-03-01
to = 2027-03-31
week = { sat = ["08:00-12:00"] }
premium_per_hour = 3
"""


def site_of(folder, *more):
    """The site with more tables; both engines say the same."""
    site = played(made(folder, *more, base=LONG, levels=ONE))
    compiled = run_compiled(site.ready.tower.plan, site.draw)
    assert np.array_equal(site.diary.started, compiled.started)
    assert np.array_equal(site.diary.finished, compiled.finished)
    return site


def costs(site):
    """Every item of the cost book. [k]"""
    settings = site.ready.scenario.settings
    book = cost_book(settings, tower=site.ready.tower, days=Days(settings))
    return dict(zip(book.items, (book.of(site.diary) / PARTS).tolist(), strict=True))


def test_saturdays_bring_the_finish_forward_and_cost_their_premium(tmp_path):
    """Five shifts and four hours in the first week; four shifts and four hours are left: Friday 12:00."""
    assert site_of(tmp_path / "usual").diary.finish == at(11, "16:00")
    site = site_of(tmp_path, COST, SATURDAYS)
    assert site.diary.finish == at(11, "12:00")
    # One Saturday lies in the work, the others come after its end.
    assert costs(site) == {"premium site": 4 * 3, "site overhead": 0}
    days = Days(site.ready.scenario.settings)
    assert days.working_day(at(11, "12:00")) == 11  # five, the Saturday, five


def test_shorter_hours_hold_in_their_weeks_alone(tmp_path):
    """Four hours on Monday and Tuesday of the first week: eight hours are missing, so one shift more."""
    winter = """
[[calendar.site.dated]]
from = 2027-03-01
to = 2027-03-02
week = { mon = ["08:00-12:00"], tue = ["10:00-14:00"], wed = ["08:00-09:00"] }
premium_per_hour = 3
"""
    site = site_of(tmp_path, COST, winter)
    assert site.diary.finish == at(14, "16:00")
    assert costs(site)["premium site"] == 0  # no hour of theirs lies outside the usual ones


def test_nights_are_hours_on_top_and_join_across_midnight(tmp_path):
    """On two nights from 20 to 2 o'clock, 12 hours more: done a shift and a half sooner."""
    nights = """
[[calendar.site.dated]]
from = 2027-03-01
to = 2027-03-03
week.mon = ["08:00-16:00", "20:00-24:00"]
week.tue = ["00:00-02:00", "08:00-16:00", "20:00-24:00"]
week.wed = ["00:00-02:00", "08:00-16:00"]
premium_per_hour = 1
"""
    site = site_of(tmp_path, COST, nights)
    assert site.diary.finish == at(10, "12:00")
    assert costs(site)["premium site"] == 12
    window = site.ready.tower.plan.windows[0]
    assert [at(0, "20:00"), at(1, "2:00")] in np.asarray(window.shifts).tolist()


TIRED = """
[[calendar.site.dated]]
from = 2027-03-01
to = 2027-03-07
week = { sat = ["08:00-16:00"] }
fatigue = FACTOR
source = "invented for the test"
"""


def test_work_of_tired_weeks_takes_longer_as_far_as_it_falls_into_them(tmp_path):
    """Of 80 h 48 fall into the first six days: with 1.25 they take 12 h more."""
    site = site_of(tmp_path, TIRED.replace("FACTOR", "1.25"))
    assert site.work("brackets L1 north") == (48 * 1.25 + 32) * 60
    # 48 h in the first week, 40 in the second; the last four on Monday.
    assert site.diary.finish == at(14, "12:00")


def test_fatigue_is_drawn_once_a_trial_and_the_plan_stays_as_it_was(tmp_path):
    factor = '{ low = 1, likely = 1.2, high = 1.5, shape = "triangular" }'
    fresh, tired = (
        made(tmp_path / name, TIRED.replace("FACTOR", text), base=LONG, levels=ONE)
        for name, text in (("fresh", "1"), ("tired", factor))
    )
    minutes = [played(tired, trial=trial).work("brackets L1 north") for trial in range(200)]
    factors = (np.array(minutes) / 60 - 32) / 48
    assert (factors.min(), factors.max()) > (1, 1.4)
    # Of a triangular law: mean 3.7 / 3, standard deviation 0.103, so of 200 trials 0.0073.
    assert abs(factors.mean() - 3.7 / 3) < 4 * 0.0073
    assert np.array_equal(fresh.tower.plan.work, tired.tower.plan.work)
    assert [law.source for law in tired.chooser.laws][-1] == "trade pace and item minutes"


def test_a_day_off_stays_off_and_a_closed_day_is_closed(tmp_path):
    """The first Saturday is a holiday, and Friday is closed for a month."""
    off = LONG.replace("[calendar.site]", "[calendar.site]\nclosed = [2027-03-06]")
    more = SATURDAYS.replace("week = {", "week = { fri = [],")
    site = played(made(tmp_path, COST, more, base=off, levels=ONE))
    # Mon to Thu, Mon to Thu, Saturday 13 March four hours, Monday, and Tuesday 16 March until noon.
    assert site.diary.finish == at(15, "12:00")
    assert costs(site)["premium site"] == 4 * 3


def calendar_of(*dated):
    week = {"mon": ["08:00-16:00"], "sat": ["08:00-10:00"]}
    other = tuple({"from": dt.date(2027, 3, a), "to": dt.date(2027, 3, b), "week": w} for a, b, w in dated)
    return Calendar.model_validate({"week": week, "dated": other})


def test_of_two_changes_of_one_day_the_later_in_the_file_holds():
    """Saturday the 6th by the first table, the 13th by the second; each adds what lies outside 8 to 10."""
    calendar = calendar_of((1, 31, {"sat": ["07:00-12:00"]}), (8, 14, {"sat": ["09:00-11:00"]}))
    span = {"start": dt.date(2027, 3, 1), "days": 14}
    shifts = calendar_shifts(calendar, **span).tolist()
    assert shifts == [
        [at(0, "8:00"), at(0, "16:00")],
        [at(5, "7:00"), at(5, "12:00")],
        [at(7, "8:00"), at(7, "16:00")],
        [at(12, "9:00"), at(12, "11:00")],
    ]
    first, second = (hours_added(calendar, k, **span).tolist() for k in (0, 1))
    assert first == [[at(5, "7:00"), at(5, "8:00")], [at(5, "10:00"), at(5, "12:00")]]
    assert second == [[at(12, "10:00"), at(12, "11:00")]]


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"to": dt.date(2027, 2, 1)}, "dated[0].to: found 2027-02-01; allowed: a date on or after from"),
        ({"week": {}}, "dated[0].week: found an empty table; allowed: the hours of at least one day, as sat"),
        ({"week": {"sat": ["12:00-08:00"]}}, 'dated[0].week.sat[0]: found "12:00-08:00"'),
        ({"week": {"sut": []}}, "nearest: "),
        ({"fatigue": 1.1}, "dated[0].fatigue: found a factor without a source; allowed: source"),
        ({"fatigue": 0.9, "source": "x"}, "dated[0].fatigue: found 0.9; allowed: a number or a spread"),
        ({"premium_per_hour": 2}, "dated[0].premium_per_hour: found 2; allowed: only with [cost]"),
    ],
)
def test_hours_that_cannot_be_are_refused(tmp_path, changes, said):
    dated = {"from": dt.date(2027, 3, 1), "to": dt.date(2027, 3, 31), "week": {"sat": []}} | changes
    with pytest.raises(InputError) as refused:
        load(written(tmp_path), {"calendar.site.dated": [dated]})
    assert said in str(refused.value)


def test_longer_hours_bear_a_caution_and_shorter_ones_none(tmp_path):
    path = written(tmp_path, COST)
    base = load(path)
    span = {"from": dt.date(2027, 3, 1), "to": dt.date(2027, 3, 31)}
    longer, shorter = (
        load(path, {"calendar.site.dated": [span | {"week": week}]})
        for week in ({"sat": ["08:00-12:00"]}, {"fri": ["08:00-12:00"]})
    )
    all_year = load(path, {"calendar.site.week.sat": ["08:00-12:00"]})
    assert hours_cautions(base, [base, shorter]) == []
    assert "calendar.site" in hours_cautions(longer, [longer])[0]
    assert hours_cautions(base, [longer]) == hours_cautions(base, [all_year]) != []


def test_a_calendar_may_work_by_dated_hours_alone(tmp_path):
    """Two Saturdays of eight hours and no usual week: sixteen hours of the eighty, and no late hour."""
    week = [f"calendar.site.week.{day}" for day in ("mon", "tue", "wed", "thu", "fri")]
    nights = {"from": dt.date(2027, 3, 1), "to": dt.date(2027, 3, 14), "week": {"sat": ["08:00-16:00"]}}
    changes = dict.fromkeys(week) | {"calendar.site.dated": [nights]}
    changes |= {"trade.brackets.unit_min": 96, "trade.brackets.long_shift": {"after_h": 5, "loss": 0.5}}
    site = played(prepare(load(written(tmp_path, levels=ONE), changes)))
    assert site.diary.finish == at(12, "16:00")
