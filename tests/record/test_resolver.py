"""From the words of a site to the past of its plan: the seven rules, each by hand on a small site.

The site has four levels of two zones, nine panels (three crates, two trucks) and twenty brackets a front.
Panels of a front wait for its brackets, for the handover of the level above and for the panels below.
"""

import math
from datetime import date

import numpy as np
import pytest

from support.site_record import BRACKETS, as_planned_times, faults_of, recorded, reporting_site, resolved
from towerpace.faults import InputError
from towerpace.record.outcomes import Fate
from towerpace.record.resolve import resolve

DAY = 1440
PLAN = reporting_site().tower.plan


def step(name):
    return PLAN.index[name]


def ended(past, name):
    return int(past.ended[step(name)])


def begun(past, name):
    return int(past.begun[step(name)])


def holds_the_law(past, plan=PLAN):
    """What a draw with pins must fulfil: begun by the data date, and every predecessor ended by then."""
    pinned = np.flatnonzero(past.begun >= 0)
    let_go = set(past.let_go)
    for i in pinned.tolist():
        assert past.begun[i] < past.until
        assert past.ended[i] == -1 or past.begun[i] <= past.ended[i] <= past.until
        for p in plan.before[i].tolist():
            if (p, i) not in let_go:
                assert 0 <= past.ended[p] <= past.begun[i], (plan.names[p], plan.names[i])
    return True


# 1. Explicit beats silent.
def test_what_is_silent_before_a_report_is_filled_in_and_counted(tmp_path):
    past = resolved(tmp_path, "2027-03-05,panels,1,north,4,")
    assert holds_the_law(past)
    assert ended(past, "brackets L1 north") > 0
    assert ended(past, "panels L1 north: crate 2 up") > 0
    assert begun(past, "panels L1 north: crate 3 up") == -1
    assert past.filled["brackets"] == 1
    assert past.filled["panels"] == 2  # moving in, and the way to the next position after three panels
    assert past.filled["structure"] == 2
    assert past.remarks == ()


def test_a_predecessor_reported_unfinished_keeps_its_state_and_both_lines_are_told(tmp_path):
    past = resolved(tmp_path, "2027-03-05,panels,1,north,4,\n2027-03-05,brackets,1,north,50%,")
    assert holds_the_law(past)
    assert past.let_go == ((step("brackets L1 north"), step("panels L1 north: move in")),)
    assert ended(past, "brackets L1 north") == -1
    (remark,) = past.remarks
    assert remark.lines == (2, 3)
    assert "panels L1 north went on before brackets L1 north was finished" in remark.text


def test_a_level_not_handed_over_is_filled_in_if_silent_and_told_if_denied(tmp_path):
    silent = resolved(tmp_path, "2027-03-05,panels,1,north,4,")
    assert ended(silent, "handover of L2") >= 0
    denied = resolved(tmp_path, "2027-03-05,panels,1,north,4,\n2027-03-05,handover,2,,no,")
    assert ended(denied, "handover of L2") == -1
    assert denied.remarks[0].lines == (2, 3)


def test_units_given_back_that_were_never_taken_are_a_fault_with_both_lines(tmp_path):
    """Crates came up by a hoist trip that cannot have been: unloading took the bay, sorting gives it back."""
    ready = reporting_site(more=SORTED)
    record = recorded(
        tmp_path, "2027-03-05,trucks_in,1,north,0,\n2027-03-05,crates_up,1,north,2,", ready=ready
    )
    with pytest.raises(InputError) as error:
        resolve(record, ready.tower, planned=as_planned_times(ready))
    (fault,) = error.value.faults
    assert fault.line == 3
    assert "line 2 says it is not" in fault.allowed


SORTED = f"""{BRACKETS}[yard]
slots = 12
"""


# 2. Steps that nobody reports.
def test_steps_that_nobody_reports_follow_from_what_is_reported_or_are_not_done(tmp_path):
    past = resolved(tmp_path, "2027-03-05,crates_up,1,north,1,\n2027-03-05,trucks_in,1,north,2,")
    assert ended(past, "panels L1 north: floor slots") >= 0
    assert ended(past, "panels L1 north: truck 2 unloaded") >= 0
    assert begun(past, "panels L1 north: move in") == -1


# 3. Times that nobody reports.
def test_times_are_squeezed_in_order_between_the_sheets(tmp_path):
    sheet = "2027-03-05,panels,1,north,4,\n2027-03-12,panels,1,north,9,"
    past = resolved(tmp_path, sheet)
    assert holds_the_law(past)
    names = [f"panels L1 north: panel {k}" for k in range(1, 10)]
    times = [ended(past, name) for name in names]
    assert times == sorted(times)
    assert max(times[:4]) < 5 * DAY
    assert min(times[4:]) >= 5 * DAY
    assert max(times) <= 12 * DAY


def test_times_of_the_log_stay_and_what_is_silent_gives_way(tmp_path):
    log = """panels,1,north,1-2,2027-03-03T08:00,2027-03-03T10:00,gang 1,set,
             brackets,1,north,,2027-03-02,2027-03-02,,,"""
    past = resolved(tmp_path, "2027-03-05,panels,1,north,4,", log=log)
    assert holds_the_law(past)
    second = 2 * DAY
    assert begun(past, "panels L1 north: panel 1") == second + 480
    assert ended(past, "panels L1 north: panel 1") == begun(past, "panels L1 north: panel 2") == second + 540
    assert ended(past, "panels L1 north: move in") <= second + 480
    # Dates alone are the hours of the trade's calendar, seven to seventeen.
    assert (begun(past, "brackets L1 north"), ended(past, "brackets L1 north")) == (DAY + 420, DAY + 1020)
    assert past.told.sum() == 3


def test_told_times_that_run_backwards_let_the_link_go(tmp_path):
    log = """panels,1,north,1,2027-03-02T08:00,2027-03-02T10:00,gang 1,set,
             brackets,1,north,,2027-03-02T09:00,2027-03-03T12:00,,,"""
    past = resolved(tmp_path, "2027-03-05,panels,1,north,4,", log=log)
    assert holds_the_law(past)
    assert past.let_go == ((step("brackets L1 north"), step("panels L1 north: move in")),)
    (remark,) = past.remarks
    assert remark.lines == (2, 3)


def test_nothing_timed_by_nobody_may_be_learned_from(tmp_path):
    assert not resolved(tmp_path, "2027-03-05,panels,1,north,4,").told.any()


# 4. Shares.
def test_a_share_or_units_of_a_front_of_a_gang_leave_the_rest(tmp_path):
    past = resolved(tmp_path, "2027-03-05,brackets,1,north,60%,\n2027-03-05,brackets,1,east,5,")
    assert past.share[step("brackets L1 north")] == pytest.approx(0.6)
    assert past.share[step("brackets L1 east")] == pytest.approx(0.25)
    assert begun(past, "brackets L1 north") >= 0
    assert ended(past, "brackets L1 north") == -1


def test_a_front_that_the_log_calls_begun_has_no_share(tmp_path):
    past = resolved(
        tmp_path, "2027-03-05,handover,1,,yes,", log="brackets,1,north,,2027-03-04T09:00,,gang 1,,"
    )
    assert begun(past, "brackets L1 north") == 3 * DAY + 540
    assert math.isnan(past.share[step("brackets L1 north")])


def test_coats_count_as_equal_parts_of_a_front(tmp_path):
    more = SORTED.replace("unit_min = 30", "unit_min = 30\ncoats = 3\ndrying_h = 12")
    ready = reporting_site(more=more)
    plan = ready.tower.plan
    past = resolved(tmp_path, "2027-03-05,brackets,1,north,50%,", ready=ready)
    assert holds_the_law(past, plan)
    first, second = plan.index["brackets L1 north: coat 1"], plan.index["brackets L1 north: coat 2"]
    assert past.ended[first] >= 0
    assert past.share[second] == pytest.approx(0.5)


# 5. Outcomes.
def test_a_panel_broken_has_its_remake_from_that_day(tmp_path):
    log = """panels,1,north,1,2027-03-03T08:00,2027-03-03T09:00,,set,
             panels,1,north,2,2027-03-03T09:00,2027-03-03T10:00,,broken,edge"""
    past = resolved(tmp_path, "2027-03-05,panels,1,north,4,", log=log)
    (loss,) = past.outcomes.losses
    assert loss.lift == step("panels L1 north: panel 2")
    assert not loss.unfit
    assert not loss.set_again
    assert 2 * DAY + 600 <= begun(past, "panels L1 north: panel 2 remade") < 5 * DAY
    assert ended(past, "panels L1 north: panel 2 remade") == -1


def test_holes_without_a_name_are_the_last_panels_and_close_when_they_are_fewer(tmp_path):
    sheet = "2027-03-05,panels,1,north,4,\n2027-03-05,holes,1,north,2,"
    past = resolved(tmp_path, sheet)
    lifts = {loss.lift for loss in past.outcomes.losses}
    assert lifts == {step("panels L1 north: panel 3"), step("panels L1 north: panel 4")}
    closed = resolved(tmp_path, sheet + "\n2027-03-12,holes,1,north,1,")
    assert sorted(loss.set_again for loss in closed.outcomes.losses) == [False, True]
    assert holds_the_law(closed)


def test_a_remake_that_is_not_ordered_waits_for_the_data_date(tmp_path):
    sheet = "2027-03-05,panels,1,north,4,\n2027-03-05,holes,1,north,1,\n2027-03-05,remake,1,north,0,"
    past = resolved(tmp_path, sheet)
    remade = step("panels L1 north: panel 4 remade")
    assert past.begun[remade] == -1
    assert remade in past.held


def test_a_panel_set_again_closes_its_hole(tmp_path):
    log = """panels,1,north,2,2027-03-03T09:00,2027-03-03T10:00,,broken,edge
             panels,1,north,2,2027-03-29T09:00,2027-03-29T10:00,,set,"""
    past = resolved(tmp_path, "2027-03-30,panels,1,north,9,", log=log)
    (loss,) = past.outcomes.losses
    assert loss.set_again
    assert loss.found < loss.ordered + 1 < 28 * DAY
    # All that led to the new panel is over; it came up and was set before the month was out.
    again = [ended(past, f"panels L1 north: panel 2 {what}") for what in ("remade", "again")]
    assert loss.found <= again[0] <= again[1] <= past.until
    # The second row is about a return visit: it says nothing of the first lift.
    assert ended(past, "panels L1 north: panel 2") == 2 * DAY + 600
    assert past.remarks == ()
    assert holds_the_law(past)


def test_tries_of_the_mock_up(tmp_path):
    failed = resolved(tmp_path, "2027-03-02,mock_up,,,failed,\n2027-03-05,brackets,1,north,9,")
    assert (failed.outcomes.failed, failed.outcomes.passed) == (1, False)
    assert ended(failed, "mock-up: try 1") >= 0
    assert 0 <= begun(failed, "mock-up: repair before try 2") < 2 * DAY
    assert begun(failed, "mock-up: try 2") == -1
    passed = resolved(tmp_path, "2027-03-02,mock_up,,,failed,\n2027-03-05,mock_up,,,passed,")
    assert (passed.outcomes.failed, passed.outcomes.passed) == (1, True)
    assert ended(passed, "mock-up: try 2") >= 2 * DAY
    assert ended(passed, "mock_up") >= 2 * DAY


@pytest.mark.parametrize(
    ("said", "fate"), [("yes", Fate.BEFALLEN), ("no", Fate.EXCLUDED), ("over", Fate.BEFALLEN), (None, None)]
)
def test_a_risk_is_befallen_excluded_or_open(tmp_path, said, fate):
    row = "" if said is None else f"\n2027-03-05,risk permit refused,,,{said},"
    past = resolved(tmp_path, f"2027-03-05,brackets,1,north,9,{row}")
    assert past.outcomes.risks.get("permit refused") is fate


def test_a_risk_is_over_when_what_it_held_has_begun(tmp_path):
    fronts = [f"2027-06-01,panels,4,{zone},9," for zone in ("north", "east")]
    sheet = "\n".join([*fronts, "2027-06-01,risk permit refused,,,yes,", "2027-06-01,crown,,,2,"])
    past = resolved(tmp_path, sheet)
    assert ended(past, "risk permit refused") >= 0
    assert past.remarks == ()
    assert ended(past, "crown: lift 2") >= 0
    assert begun(past, "crown: lift 3") == -1


# 6. More than there is.
def test_more_fronts_open_than_gangs_is_a_remark_with_the_key(tmp_path):
    """Two brackets fronts in progress, and one gang for them."""
    past = resolved(tmp_path, "2027-03-05,brackets,1,north,9,\n2027-03-05,brackets,1,east,9,")
    (remark,) = past.remarks
    assert (
        "brackets L1 north, brackets L1 east go on at once: 2 of bracket_gang, the scenario has 1"
        in remark.text
    )
    assert "resource.bracket_gang.count" in remark.text
    assert remark.lines == (2, 3)


def test_what_is_in_progress_with_gangs_enough_is_no_remark(tmp_path):
    past = resolved(tmp_path, "2027-03-05,panels,1,north,4,\n2027-03-05,panels,1,east,4,")
    assert past.remarks == ()


def test_work_outside_the_calendar_is_kept_with_a_remark(tmp_path):
    log = "brackets,1,north,,2027-03-06T09:00,2027-03-06T12:00,gang 1,,"
    past = resolved(tmp_path, "2027-03-08,brackets,1,north,all,", log=log)
    assert begun(past, "brackets L1 north") == 5 * DAY + 540
    (remark,) = past.remarks
    assert "brackets L1 north outside its calendar, from 2027-03-06T09:00" in remark.text


# 7. Optional steps.
def test_optional_steps_that_were_due_and_are_not_reported_are_over(tmp_path):
    sheet = "2027-03-05,handover,2,,yes,"
    over = resolved(tmp_path, sheet)
    mast = "hoist 1: mast extension 1"
    assert 0 <= begun(over, mast) == ended(over, mast)
    assert begun(over, "hoist 1: mast extension 2") == -1  # the fourth level is not handed over
    denied = resolved(tmp_path, sheet + "\n2027-03-05,masts,2,,no,")
    assert begun(denied, mast) == -1


# What else must hold.
def test_levels_below_a_level_handed_over_are_handed_over(tmp_path):
    past = resolved(tmp_path, "2027-03-05,handover,3,,yes,")
    assert ended(past, "handover of L1") >= 0
    assert step("handover of L4") in past.held
    assert step("handover of L1") not in past.held


def test_a_level_came_between_the_sheet_that_tells_of_it_and_the_one_before(tmp_path):
    """Whatever day work behind it began: that it came just then is likelier than any day before."""
    sheets = "2027-03-05,handover,1,,yes,\n2027-03-12,handover,2,,yes,"
    log = "brackets,2,north,,2027-03-09T09:00,,gang 1,,"
    past = resolved(tmp_path, sheets, log=log)
    spans = [(past.earliest[k], past.latest[k]) for k in (step("handover of L1"), step("handover of L2"))]
    assert spans == [(0, 5 * DAY), (5 * DAY + 1, 12 * DAY)]
    logged = resolved(tmp_path, sheets, log="handover,2,,,2027-03-09,,,,")
    level = step("handover of L2")
    assert (logged.earliest[level], logged.latest[level]) == (8 * DAY, 9 * DAY)


def test_a_row_stands_as_last_reported_and_later_rows_are_cut_off(tmp_path):
    sheet = "2027-03-05,panels,1,north,4,\n2027-03-12,panels,1,east,2,\n2027-03-12,panels,1,north,6,"
    early = resolved(tmp_path, sheet, at=date(2027, 3, 8))
    assert early.until == 8 * DAY
    assert early.done["panels"] == (4.0, 72.0)
    assert begun(early, "panels L1 east: panel 1") == -1


def test_a_record_outlives_a_changed_scenario(tmp_path):
    """A third gang, and a trade more in front: step numbers move, names do not."""
    ready = reporting_site()
    other = reporting_site(more=SORTED)
    sheet = "2027-03-05,panels,1,north,4,\n2027-03-05,brackets,1,north,all,"
    past = resolved(tmp_path, sheet, ready=other)
    plan = other.tower.plan
    assert plan.n != PLAN.n
    assert past.ended[plan.index["panels L1 north: panel 4"]] >= 0
    assert past.begun[plan.index["panels L1 north: panel 5"]] == -1
    assert holds_the_law(past, plan)
    assert past.done["panels"] == resolved(tmp_path, sheet, ready=ready).done["panels"] == (4.0, 72.0)


def test_words_of_a_trade_that_the_scenario_lacks_are_faults(tmp_path):
    (told,) = faults_of(tmp_path, "2027-03-05,seal,1,north,4,")
    assert 'what: found "seal"' in told


FACTORY = f"""
[mock_up]
start = 2027-03-01
try_days = 1
pass_chance = 0.5
fix_days = 2
most_tries = 3
[factory]
panels_per_week = 60
stock_panels = 9
after = "mock_up"
start = 2027-03-01
{BRACKETS}"""


def test_a_factory_of_which_nobody_speaks_works_as_planned_once_the_mock_up_has_passed(tmp_path):
    """Sixty panels a week, nine in stock: five days after the first of March some loads are made, not all."""
    ready = reporting_site(more=FACTORY)
    plan = ready.tower.plan
    loads = [i for i in range(plan.n) if plan.tags(i).kind == "factory"]
    sheet = "2027-03-05,brackets,1,north,9,"
    silent = resolved(tmp_path, sheet, ready=ready)
    assert (silent.ended[loads] == -1).all()
    passed = resolved(tmp_path, sheet + "\n2027-03-02,mock_up,,,passed,", ready=ready)
    made = passed.ended[loads] >= 0
    assert 0 < made.sum() < len(loads)
    assert holds_the_law(passed, plan)
