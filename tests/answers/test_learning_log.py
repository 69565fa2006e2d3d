"""Minutes learned from a log: open ones inside what it says, by hand, and from the diary of a trial."""

import pickle
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from support.site_record import recorded, reporting_site
from support.small_site import BASE, DAY, LEVELS
from support.updated_site import Certain
from towerpace.answers.learn.entries import rows_of
from towerpace.answers.learn.from_log import LogItems
from towerpace.answers.learn.items import Stated
from towerpace.answers.learn.learned_said import overrules
from towerpace.answers.learn.minutes import Shown, SiteClock
from towerpace.answers.learn.site import SiteSeen, learn_log
from towerpace.answers.prepare import prepare
from towerpace.engine.fastest import run
from towerpace.plan.chance import Known
from towerpace.plan.learned import LearnedPaces, front_numbers
from towerpace.scenario import load
from towerpace.scenario.spreads import Spread

SCENARIOS = Path(__file__).parents[2] / "scenarios"
ONE_HOIST, BY_HAND = (SCENARIOS / name / "scenario.toml" for name in ("one_hoist", "by_hand"))
UNCERTAIN = {"unit_min = 6": 'unit_min = { low = 4, likely = 6, high = 8, shape = "pert" }'}
MON, TUE, WED, FRI = 0, DAY, 2 * DAY, 4 * DAY


def at(day, clock):
    """A minute by its day and hour, as "15:30"."""
    hour, minute = clock.split(":")
    return day + 60 * int(hour) + int(minute)


def learned(tower, rows, data_date, **weather):
    """What rows of a log teach, trade by trade."""
    clock = SiteClock(tower.plan, **({"hours": None} | weather))
    return learn_log(tower, rows, clock=clock, data_date=data_date).trades


def site(folder, text=BASE):
    for old, new in UNCERTAIN.items():
        text = text.replace(old, new)
    (folder / "levels.csv").write_text(LEVELS, encoding="utf-8")
    (folder / "scenario.toml").write_text(text, encoding="utf-8")
    return prepare(load(folder / "scenario.toml")).tower


def test_work_pauses_while_the_site_is_closed(tmp_path):
    """From Friday 15:30 to Monday 09:00 a site open from 8 to 16 works 30 and 60 minutes."""
    tower = site(tmp_path)
    step, clock = int(tower.first[0, 0]), SiteClock(tower.plan, hours=None)
    assert clock.between(step, at(FRI, "15:30"), at(7 * DAY, "9:00")) == 90
    assert clock.between(step, at(TUE, "9:00"), at(TUE, "9:00")) == 0


def test_days_alone_bound_the_minutes(tmp_path):
    """Begun on Monday and ended on Wednesday: all of Tuesday, at most all three days."""
    tower = site(tmp_path)
    step, clock = int(tower.first[0, 0]), SiteClock(tower.plan, hours=None)
    row = Shown((step,), MON, WED + DAY, start_until=TUE, finish_from=WED)
    assert clock.bounds(row, data_date=FRI) == (480, 3 * 480)
    begun = Shown((step,), MON, None, start_until=TUE)
    assert clock.bounds(begun, data_date=at(WED, "10:00")) == (480 + 120, np.inf)


def test_a_lift_runs_past_its_shift_but_not_through_the_night():
    """The shifts end at 12:00 and 17:00; after 12:30 work has begun anew."""
    tower = prepare(load(ONE_HOIST)).tower
    lift, clock = int(tower.panels[0]), SiteClock(tower.plan, hours=None)
    assert clock.between(lift, at(MON, "16:40"), at(MON, "17:20")) == 40
    assert clock.between(lift, at(MON, "11:50"), at(MON, "12:20")) == 30
    assert clock.between(lift, at(MON, "11:50"), at(MON, "12:40")) == 10 + 10
    assert clock.between(lift, at(MON, "16:40"), at(TUE, "7:15")) == 20 + 15


def test_weather_that_nobody_tells_leaves_a_trade_unlearned_and_weather_told_is_not_work():
    """With the weather told, the minutes in which it stopped the work are none of its own."""
    prepared = prepare(load(BY_HAND))
    plan, hours = prepared.tower.plan, prepared.chooser.hours(1, 0)
    stopped = [s for s in range(plan.n) if plan.window[s] >= 0 and plan.windows[plan.window[s]].limits]
    trade = plan.tags(stopped[0]).trade
    rows = [Shown((stopped[0],), MON, 30 * DAY)]
    seen = {row.trade: row for row in learned(prepared.tower, rows, 30 * DAY)}
    assert (seen[trade].told, seen[trade].untold) == (None, 1)
    window = plan.windows[plan.window[stopped[0]]]
    whole = SiteClock(plan.changed(windows=(replace(window, limits=()),) * len(plan.windows)), hours=None)
    told = SiteClock(plan, hours=hours).between(stopped[0], MON, 30 * DAY)
    shifts = whole.between(stopped[0], MON, 30 * DAY)
    assert 0 < told < shifts
    gap = np.arange(24 * 31) != 24 * 7 + 9
    for measured, untold in ((np.ones_like(gap), 0), (gap, 1)):
        more = {"hours": hours, "measured": measured}
        (seen,) = [t for t in learned(prepared.tower, rows, 30 * DAY, **more) if t.trade == trade]
        assert seen.untold == untold


def test_level_by_hand(tmp_path):
    """Ten brackets of 6 minutes each are 60; fronts of 80, 75 and 85 say about 1.3 times."""
    tower = site(tmp_path, BASE.replace("unit_min = 6", f"pace = {PACE}\nunit_min = 6"))
    ends = ("9:20", "9:15", "9:25")
    rows = [
        Shown((int(s),), at(MON, "8:00"), at(MON, end)) for s, end in zip(tower.first[0], ends, strict=True)
    ]
    (seen,) = learned(tower, rows, TUE)
    assert (seen.told.exact, seen.told.running, seen.untold) == (3, 0, 0)
    assert 1.2 < seen.told.quantile(0.5) < 1.4
    paces = SiteSeen([seen]).paces(tower)
    sent = pickle.loads(pickle.dumps(paces))  # as workers get it
    assert sent.paces["brackets"].quantile(0.3) == seen.told.quantile(0.3)
    assert sent.front.tolist() == paces.front.tolist()


PACE = '{ low = 0.7, likely = 1.0, high = 1.6, shape = "pert" }'


def diary_rows(prepared, *, level, until):
    """Rows of the log that a trial of a site with this level of its panels gives: lifts begun before."""
    tower, true = prepared.tower, Certain(level)
    known = Known(learned=LearnedPaces({"panels": true}, front_numbers(tower.plan)))
    diary = run(tower.plan, replace(prepared.chooser, known=known).draw(11, 0))
    begun = [int(s) for s in tower.panels if 0 <= diary.started[s] < until]
    ends = [int(diary.finished[s]) for s in begun]
    return [
        Shown((step,), int(diary.started[step]), end if 0 <= end <= until else None)
        for step, end in zip(begun, ends, strict=True)
    ]


@pytest.mark.parametrize("level", [0.95, 1.7])
def test_the_diary_of_a_trial_gives_its_level_back(level):
    """Also 1.7, where 0.9 to 1.3 is stated; the standard error is that of 100 lifts or so."""
    prepared = prepare(load(ONE_HOIST))
    rows = diary_rows(prepared, level=level, until=14 * DAY)
    (seen,) = learned(prepared.tower, rows, 14 * DAY)
    low, middle, high = seen.told.quantile(np.array([0.005, 0.5, 0.995]))
    assert len(rows) > 60
    assert low < level < high
    assert middle == pytest.approx(level, rel=0.08)
    assert seen.odd == ()


def test_rows_over_several_steps_are_less_the_moves_between():
    """Four lifts and the crane's move after the third, in one row, say what the lifts say one by one."""
    prepared = prepare(load(ONE_HOIST))
    tower = prepared.tower
    lifts = [int(s) for s in tower.panels[:4]]
    name = tower.plan.names[lifts[2]].replace("panel 3", "move after panel 3")
    move = tower.plan.index[name]
    start = at(MON, "7:00")
    lasts = 130 + int(tower.plan.work[move])
    log = LogItems(tower.plan, tower.laws, clock=SiteClock(tower.plan, hours=None))
    seen = log.of([Shown(lifts, start, start + lasts)], trade="panels", data_date=TUE)
    assert (seen.low.tolist(), seen.high.tolist()) == ([130.0], [130.0])
    assert seen.factor[0] * seen.stated[0].mean_min == pytest.approx(4 * (18 + 4 * 30 + 60) / 6)
    one = Stated.of([Spread.pert(low=18, likely=30, high=60)])
    assert seen.scatter[0] == pytest.approx(one.scatter / 2, rel=0.02)


def test_entries_of_a_log_are_rows_of_the_plan(tmp_path):
    """In the order of their start; what broke or did not fit, and its return, says nothing."""
    log = """
        panels,1,north,2-4,2027-03-03T08:00,2027-03-03T11:00,,set,
        panels,1,north,5,2027-03-03T11:00,2027-03-03T11:20,,broken,
        panels,1,north,6,2027-03-03T11:30,2027-03-03T13:20,,misfit,
        brackets,2,east,,2027-03-02,2027-03-03,,,
        brackets,3,east,,2027-03-04T09:00,,,,
        panels,1,north,5,2027-03-04T08:00,2027-03-04T10:00,,set,
        handover,1,,,2027-03-01T07:00,2027-03-01T08:00,,,
    """
    ready = reporting_site()
    plan, record = ready.tower.plan, recorded(tmp_path, "2027-03-04,brackets,2,east,20,", log=log)
    rows = list(rows_of(record.log, ready.tower))
    names = [[plan.names[s] for s in row.steps] for row in rows]
    assert names == [
        ["brackets L2 east"],
        [f"panels L1 north: panel {k}" for k in (2, 3, 4)],
        ["brackets L3 east"],
    ]
    dated, timed = rows[:2]
    assert (timed.start, timed.finish) == (at(WED, "8:00"), at(WED, "11:00"))
    assert (dated.start_until, dated.finish_from, dated.finish) == (WED, WED, WED + DAY)
    panels, brackets = sorted(
        learned(ready.tower, rows, record.until), key=lambda seen: seen.trade != "panels"
    )
    assert (panels.told.exact, brackets.told.running, brackets.told.dated) == (1, 1, 1)


def test_a_trade_without_a_stated_range_still_learns(tmp_path):
    """The stated pace is 1 and nothing else; ten fronts that take twice as long overrule it."""
    tower = site(tmp_path)
    fronts = [int(s) for s in tower.first[0]] * 4
    rows = [Shown((s,), at(MON, "8:00"), at(MON, "10:00")) for s in fronts]
    (few,) = learned(tower, rows[:1], TUE)
    (many,) = learned(tower, rows, TUE)
    assert few.told.quantile(0.5) == pytest.approx(1.0, abs=0.01)
    assert many.told.quantile(0.5) == pytest.approx(2.0, abs=0.15)
    assert overrules(many)
