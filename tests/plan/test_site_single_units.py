"""Single units that come late, leave early or are away, worked by hand; what they cost; what is refused."""

import datetime as dt

import numpy as np
import pytest

from support import supply_tower
from support.small_site import BASE, DAY, at, made, played
from towerpace.answers.choice.additions import least_needed, with_units
from towerpace.answers.cost import PARTS, cost_book
from towerpace.answers.days import Days
from towerpace.engine.kernel.run import run as run_compiled
from towerpace.faults import InputError
from towerpace.plan.site.presence import own_dates
from towerpace.scenario import load
from towerpace.scenario.plausible import warnings_of
from towerpace.scenario.setups import base_of, named_setup

# Four fronts of forty hours: each a week of eight hours a day.
FOUR = "level,zone,height_m,difficulty,handover,brackets\n" + "".join(
    f"{level},north,{4.0 * level},1.0,2027-03-01,10\n" for level in range(1, 5)
)
TWO_GANGS = BASE.replace("unit_min = 6", "unit_min = 240").replace(
    "[resource.gang]\ncount = 1",
    "[resource.gang]\ncount = 2\ncost_per_day = 1\ncost_mobilise = 100",
)
COST = '[cost]\nunit = "k"\nsite_overhead_per_day = 0\n'


def site_of(folder, unit, *more):
    """Two gangs, the second on days of its own; both engines say the same."""
    site = played(made(folder, f"[[resource.gang.unit]]\n{unit}", COST, *more, base=TWO_GANGS, levels=FOUR))
    compiled = run_compiled(site.ready.tower.plan, site.draw)
    assert np.array_equal(site.diary.started, compiled.started)
    assert np.array_equal(site.diary.finished, compiled.finished)
    return site


def begun(site):
    """Day and hour at which the front of each level is begun."""
    starts = [site.diary.started_at(f"brackets L{level} north") for level in range(1, 5)]
    return [(minute // DAY, minute % DAY // 60) for minute in starts]


def hire(site):
    """What the gangs cost. [k]"""
    settings = site.ready.scenario.settings
    book = cost_book(settings, tower=site.ready.tower, days=Days(settings))
    return book.of(site.diary)[0] / PARTS


def test_one_of_two_gangs_comes_on_wednesday(tmp_path):
    """Mon to Fri and Mon to Fri; Wed to Tue and Wed to Tue: days 0 to 11 and 2 to 15 are paid."""
    site = site_of(tmp_path, "arrives = 2027-03-03")
    assert begun(site) == [(0, 8), (2, 8), (7, 8), (9, 8)]
    assert site.diary.finish == at(15, "16:00")
    # The first gang is there from the first use of any to the last, as ever; the second comes on day 2.
    assert hire(site) == (100 + 16) + (100 + 14)


def test_one_of_two_gangs_leaves_when_its_job_ends(tmp_path):
    """Both are at work on Wednesday and end on Friday: one leaves then, the other does what is left."""
    site = site_of(tmp_path, "leaves = 2027-03-03")
    assert begun(site) == [(0, 8), (0, 8), (7, 8), (14, 8)]
    assert site.diary.started_at("gang 2: absence 1") == at(4, "16:00")
    assert site.diary.finish == at(18, "16:00")
    assert hire(site) == (100 + 19) + (100 + 5)


def test_one_of_two_gangs_is_away_for_a_week(tmp_path):
    """It goes on Friday evening, on day 4, and is back on day 14; days away are paid."""
    site = site_of(tmp_path, "away = [{ from = 2027-03-05, to = 2027-03-14 }]")
    assert begun(site) == [(0, 8), (0, 8), (7, 8), (14, 8)]
    assert site.diary.started_at("gang 2: absence 1") == at(4, "16:00")
    assert hire(site) == 2 * (100 + 19)


def test_a_unit_that_comes_when_all_is_done_is_not_paid(tmp_path):
    site = site_of(tmp_path, "arrives = 2027-06-01")
    assert begun(site) == [(0, 8), (7, 8), (14, 8), (21, 8)]
    assert hire(site) == 100 + 26


def test_a_unit_fails_only_while_it_is_on_the_site(tmp_path):
    """Every 20 h, an hour each: the second unit from Wednesday on, until Thursday midnight."""
    breaks = "[resource.gang.breakdown]\nevery_h = 20\nrepair_h = 1\n"
    site = site_of(tmp_path, "arrives = 2027-03-03\nleaves = 2027-03-05", breaks)
    assert site.diary.ready[site.ready.tower.plan.index["gang 1: breakdown 1"]] == at(0, "20:00")
    assert site.diary.ready[site.ready.tower.plan.index["gang 2: breakdown 1"]] == at(2, "20:00")
    assert site.diary.ready[site.ready.tower.plan.index["gang 2: breakdown 2"]] == -1


def test_one_of_two_hoists_comes_three_weeks_late_by_one_line_of_a_set_up(tmp_path):
    """Two crates of 12 minutes go up at once by two hoists, and one after the other by one."""
    more = "[setup.late]\nresource.hoist.unit = [{ arrives = 2027-03-22 }]\n"
    levels = supply_tower.levels_of([(1, zone, "2027-03-01", "2027-03-01", 2) for zone in ("north", "south")])
    path = supply_tower.write_supply(tmp_path, levels=levels, more=more)
    both = {"resource.hoist.count": 2, "resource.bay.count": 2}

    def ups(scenario):
        _, _, diary = supply_tower.played(supply_tower.prepare(scenario))
        return sorted(diary.started_at(f"panels L1 {zone}: crate 1 up") for zone in ("north", "south"))

    together = ups(load(path, both))
    apart = ups(named_setup(load(path, both), "late").scenario)
    assert apart[0] == together[0] == together[1]
    assert apart[1] == together[1] + 12


def test_one_of_two_cranes_is_gone_from_its_date_on(tmp_path):
    """Two cranes set level 1 at once; the one that stays sets zone after zone of level 2."""
    rows = [
        (level, zone, f"2027-03-0{2 * level - 1}", "2027-03-01", 4)
        for level in (1, 2)
        for zone in ("north", "south")
    ]
    changes = {"resource.crane.count": 2, "resource.gang.count": 2, "resource.bay.count": 2}
    one_leaves = {"resource.crane.unit": [{"leaves": dt.date(2027, 3, 2)}]}
    ready = supply_tower.prepared(tmp_path, levels=supply_tower.levels_of(rows), changes=changes | one_leaves)
    _, _, diary = supply_tower.played(ready)

    def visit(level, zone):
        of = f"panels L{level} {zone}"
        ends = [diary.finished_at(name) for name in ready.tower.plan.names if name.startswith(f"{of}: panel")]
        return diary.started_at(f"{of}: move in"), max(ends)

    (_, first_ends), (second_begins, _) = sorted(visit(1, zone) for zone in ("north", "south"))
    assert second_begins < first_ends < supply_tower.at(1, "0:00")
    (_, first_ends), (second_begins, _) = sorted(visit(2, zone) for zone in ("north", "south"))
    assert second_begins >= first_ends
    assert diary.finish is not None


def test_the_crane_that_comes_late_is_not_the_one_that_stands_where_work_begins(tmp_path):
    """Until it comes a site of two cranes goes on as with one, which begins where the panels do."""
    levels = supply_tower.levels_of([(1, zone, "2027-03-01", "2027-03-01", 4) for zone in ("north", "south")])
    late = {"resource.crane.count": 2, "resource.crane.unit": [{"arrives": dt.date(2027, 5, 1)}]}
    alone, two = (
        supply_tower.played(supply_tower.prepared(tmp_path, levels=levels, changes=changes))[2]
        for changes in ({}, late)
    )
    assert two.finish == alone.finish
    assert two.started_at("panels L1 north: panel 1") == alone.started_at("panels L1 north: panel 1")


@pytest.mark.parametrize(
    ("units", "said"),
    [
        ([{"units": 2}], "unit[0]: found 2 units with those before it; allowed: at most resource.gang.count"),
        ([{}, {}], "unit[1]: found 2 units with those before it"),
        ([{"arrive": dt.date(2027, 4, 1)}], "unit[0].arrive: found an unknown key"),
        ([{"arrives": dt.date(2027, 2, 1)}], "unit[0].arrives: found 2027-02-01"),
        (
            [{"arrives": dt.date(2027, 4, 2), "leaves": dt.date(2027, 4, 1)}],
            "unit[0].leaves: found 2027-04-01; allowed: a date after arrives, which is 2027-04-02",
        ),
        (
            [{"arrives": dt.date(2027, 5, 20)}],
            "unit[0].arrives: found 2027-05-20; allowed: a date before resource.gang.leaves",
        ),
        (
            [{"away": [{"from": dt.date(2027, 5, 12), "to": dt.date(2027, 5, 2)}]}],
            "unit[0].away[0].to: found 2027-05-02; allowed: a date on or after from, which is 2027-05-12",
        ),
    ],
)
def test_days_that_do_not_go_together_are_refused(tmp_path, units, said):
    path = supply_tower.write_supply(tmp_path)
    with pytest.raises(InputError) as refused:
        load(path, {"resource.gang.unit": units, "resource.gang.leaves": dt.date(2027, 5, 10)})
    assert said in str(refused.value)


def test_what_the_resource_says_of_days_on_which_a_unit_is_gone_is_no_matter(tmp_path):
    """All are away in the second week, and one has left before: the other alone goes and comes back."""
    away = "[[resource.gang.away]]\nfrom = 2027-03-08\nto = 2027-03-12\n"
    site = site_of(tmp_path, "leaves = 2027-03-03", away)
    assert begun(site) == [(0, 8), (0, 8), (14, 8), (21, 8)]


def test_a_unit_leaves_by_a_date_or_with_an_activity(tmp_path):
    out = '[activity.hoist_out]\nwork_h = 5\nremoves = { hoist = "all" }\ncalendar = "day"\n'
    path = supply_tower.write_supply(tmp_path, more=out + 'after = [{ on = "panels", level = 1 }]\n')
    changes = {"resource.hoist.unit": [{"leaves": dt.date(2027, 5, 14)}]}
    with pytest.raises(InputError, match=r"removes or resource.hoist.unit\[0\].leaves, not both"):
        load(path, changes)
    load(path, {"resource.hoist.unit": [{"arrives": dt.date(2027, 3, 14)}]})


def test_a_unit_that_comes_when_the_clock_has_stopped_is_asked_about(tmp_path):
    path = supply_tower.write_supply(tmp_path)  # a hundred days from 1 March on: to 8 June
    dates = {"last": dt.date(2027, 6, 8), "late": dt.date(2027, 6, 9)}
    told = {
        word: [doubt.key for doubt in warnings_of(load(path, {"resource.bay.unit": [{"arrives": day}]}))]
        for word, day in dates.items()
    }
    assert "resource.bay.unit[0].arrives" not in told["last"]
    assert "set resource.bay.unit[0].arrives" in told["late"]


def test_no_unit_with_days_of_its_own_is_taken_away_to_see_what_is_idle(tmp_path):
    own = {"resource.gang.count": 2, "resource.gang.unit": [{"units": 2, "arrives": dt.date(2027, 3, 2)}]}
    base = base_of(load(supply_tower.write_supply(tmp_path), own))
    assert least_needed(base)["gang"] == 2
    more = with_units(base, {"gang": 1}).setup.scenario.settings.resource["gang"]
    assert [own_dates(more, unit) is None for unit in (1, 2, 3)] == [True, False, False]
