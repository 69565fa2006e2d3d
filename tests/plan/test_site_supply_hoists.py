"""Hoists, and units that come, go and break down, each worked by hand to the minute."""

import datetime as dt

import numpy as np
import pytest

from support.supply_tower import DAY, at, levels_of, played, prepared
from towerpace.plan.site.absences import failures_within
from towerpace.scenario.schema import Breakdown
from towerpace.scenario.spreads import Spread


def trial(here, **more):
    return played(prepared(here, **more))[2]


def test_every_crate_that_goes_up_comes_down_and_keeps_its_floor_slot_until_then(tmp_path):
    """Crate 1 is empty at 10:12 (move in 8:12 to 9:12, two panels of 30) and down 12 minutes later."""
    levels = levels_of([(1, zone, "2027-03-01", "2027-03-01", 4) for zone in ("north", "south")])
    more = "[storage]\nslots_per_level = 3\n"
    ready = prepared(tmp_path, levels=levels, more=more, changes={"hoist.empties": True})
    diary = played(ready)[2]
    assert diary.started_at("panels L1 north: crate 1 down") == at(0, "10:12")
    assert diary.finished_at("panels L1 south: floor slots") == at(0, "10:24")
    names = ready.tower.plan.names
    assert sum(n.endswith(" down") for n in names) == sum(n.endswith(" up") for n in names) == 4


def test_an_empty_crate_rides_down_with_a_car_that_came_up(tmp_path):
    """As above, but it costs the car 3 minutes at a share of one half, and nothing on a car that is there."""
    ride = {"hoist.empties": True, "hoist.empties_ride_min": 3, "hoist.share": 0.5}
    diary = trial(tmp_path / "a", changes=ride)
    name = "panels L1 north: crate 1 down"
    assert diary.finished_at(name) - diary.started_at(name) == 6
    diary = trial(tmp_path / "b", changes=ride | {"hoist.empties_ride_min": 0})
    assert diary.finished_at(name) == diary.started_at(name)


def test_a_full_crate_waits_while_an_empty_one_goes_down(tmp_path):
    """Unloading takes 138: crate 1 is empty at 11:30, truck 2 unloaded at 11:36, the hoist back at 11:42."""
    diary = trial(tmp_path, changes={"hoist.empties": True, "delivery.unload_min": 138})
    assert diary.started_at("panels L1 north: crate 1 down") == at(0, "11:30")
    assert diary.finished_at("panels L1 north: truck 2 unloaded") == at(0, "11:36")
    assert diary.started_at("panels L1 north: crate 3 up") == at(0, "11:42")


def test_crates_go_up_at_night_too(tmp_path):
    """Unloaded at 16:55: 5 minutes do not do for a trip of 12; by night they go up from 20:00."""
    changes = {"delivery.unload_min": 595, "resource.bay.count": 2}
    day = trial(tmp_path / "day", changes=changes)
    night = trial(tmp_path / "night", changes=changes | {"hoist.night": "dark"})
    assert day.started_at("panels L1 north: crate 1 up") == at(1, "7:00")
    assert night.started_at("panels L1 north: crate 1 up") == at(0, "20:00")
    assert night.started_at("panels L1 north: crate 4 up") == at(0, "20:36")


def test_each_car_stops_once_for_every_extension_of_its_mast(tmp_path):
    """Levels 2 and 4 of 5 are handed over on days 1 and 3: both cars stop for 3 hours from 7:00."""
    levels = levels_of([(k, "north", f"2027-03-{k:02d}", "2027-03-01", 2) for k in range(1, 6)])
    changes = {"hoist.extension_levels": 2, "hoist.extension_h": 3, "resource.hoist.count": 2}
    diary = trial(tmp_path, levels=levels, changes=changes)
    for car in (1, 2):
        assert diary.started_at(f"hoist {car}: mast extension 1") == at(1, "7:00")
        assert diary.finished_at(f"hoist {car}: mast extension 2") == at(3, "10:00")
    assert "hoist 1: mast extension 3" not in diary.plan.names
    assert diary.started_at("panels L2 north: crate 1 up") == at(1, "10:00")


def test_units_arrive_are_away_and_leave(tmp_path):
    """The hoist comes on day 2, is away on days 3 and 4, and leaves for good on day 6."""
    days = {
        "resource.hoist.arrives": dt.date(2027, 3, 3),
        "resource.hoist.away": [{"from": dt.date(2027, 3, 4), "to": dt.date(2027, 3, 5)}],
        "resource.hoist.leaves": dt.date(2027, 3, 7),
    }
    rows = [(k, "north", "2027-03-01", f"2027-03-0{d}", 2) for k, d in ((1, 1), (2, 4), (3, 7))]
    diary = trial(tmp_path, levels=levels_of(rows), changes=days)
    assert diary.started_at("panels L1 north: crate 1 up") == at(2, "7:00")
    assert diary.started_at("panels L2 north: crate 1 up") == at(5, "7:00")
    assert diary.started_at("panels L3 north: crate 1 up") == -1
    assert diary.finish is None
    assert "panels L3 north: crate 1 up" in diary.unfinished


def test_a_unit_leaves_when_its_job_ends_and_is_back_at_its_date(tmp_path):
    """The crane sets 8 panels of 120 minutes after 60 of set-up; it is to be away on day 1."""
    away = [{"from": dt.date(2027, 3, 2), "to": dt.date(2027, 3, 2)}]
    changes = {"resource.crane.away": away, "family.flat.set_min": 120}
    diary = trial(tmp_path, changes=changes)
    ended = diary.finished_at("panels L1 north: panel 8")
    assert at(1, "0:00") < ended < at(2, "0:00")
    assert diary.finished_at("crane 1: absence 1") == ended
    assert diary.finished_at("crane 1: absence 1 over") == at(2, "0:00")


def test_floor_cranes_that_arrive_later_begin_later(tmp_path):
    diary = trial(tmp_path, changes={"resource.crane.arrives": dt.date(2027, 3, 4)})
    assert diary.started_at("panels L1 north: move in") == at(3, "7:00")


BREAKS = {"resource.hoist.breakdown": {"every_h": 31.1, "repair_h": 5}}
NEXT_DAY = levels_of(
    [(1, "north", "2027-03-01", "2027-03-01", 2), (2, "north", "2027-03-01", "2027-03-02", 2)]
)


def test_a_breakdown_takes_the_unit_when_its_trip_ends_and_gives_it_back_after_the_repair(tmp_path):
    """Fails at 7:06 on day 1, before that day's truck is unloaded; back at 12:06; fails 31.1 h later."""
    diary = trial(tmp_path, levels=NEXT_DAY, changes=BREAKS)
    assert diary.started_at("hoist 1: breakdown 1") == at(1, "7:06")
    assert diary.started_at("panels L2 north: crate 1 up") == at(1, "12:06")
    assert diary.started_at("hoist 1: breakdown 2") == at(1, "12:06") + round(31.1 * 60)


@pytest.mark.parametrize(
    ("policy", "repaired", "next_crate"),
    [
        ({"policy.rank": "lowest front"}, at(0, "8:12"), at(0, "10:12")),
        ({"policy.rank": "most urgent"}, at(0, "8:12"), at(0, "10:12")),
        # First come: crate 2 has waited since 8:00, the failure since 8:06.
        ({"resource.hoist.order": "first come"}, at(0, "8:24"), at(0, "8:12")),
    ],
)
def test_a_running_trip_is_not_broken_off(tmp_path, policy, repaired, next_crate):
    """Crate 1 goes up from 8:00 to 8:12; the failure of 8:06 is put right before the next trip by rank."""
    broken = {"resource.hoist.breakdown": {"every_h": 8.1, "repair_h": 2}}
    diary = trial(tmp_path, changes=broken | policy)
    assert diary.started_at("hoist 1: breakdown 1") == repaired
    assert diary.started_at("panels L1 north: crate 2 up") == next_crate


def test_a_swap_shortens_a_long_repair(tmp_path):
    diary = trial(tmp_path, levels=NEXT_DAY, changes=BREAKS | {"resource.hoist.breakdown.swap_h": 2})
    assert diary.started_at("panels L2 north: crate 1 up") == at(1, "9:06")


def test_nothing_fails_before_it_arrives_or_while_it_is_away(tmp_path):
    changes = {
        "resource.hoist.arrives": dt.date(2027, 3, 3),
        "resource.hoist.away": [{"from": dt.date(2027, 3, 5), "to": dt.date(2027, 3, 6)}],
        "resource.hoist.breakdown": {"every_h": 30, "repair_h": 2},
    }
    diary = trial(tmp_path, changes=changes)
    fails = [diary.started_at(f"hoist 1: breakdown {k}") for k in (1, 2)]
    # Day 2 and 30 h are day 3, 6:00; 2 h of repair and 30 h on would be day 4, 14:00, and wait two days.
    assert fails == [at(3, "6:00"), at(6, "14:00")]


def test_one_more_hoist_changes_no_breakdown_of_the_others(tmp_path):
    breakdown = {"every_h": {"low": 10, "likely": 60, "high": 300, "shape": "pert"}, "repair_h": 3}
    both = [
        prepared(
            tmp_path / f"{n}",
            changes={"resource.hoist.count": n, "resource.hoist.breakdown": breakdown},
        )
        for n in (1, 2)
    ]
    one, two = (
        [
            r.chooser.draw(3, 5).work[r.tower.plan.first_of(f"hoist 1: until breakdown {k}")]
            for k in range(1, 20)
        ]
        for r in both
    )
    assert one == two
    second = both[1].chooser.draw(3, 5).work[both[1].tower.plan.first_of("hoist 2: until breakdown 1")]
    assert second != two[0]


@pytest.mark.parametrize("every", [Spread.constant(24), Spread.triangular(low=1, likely=2, high=200)])
def test_as_many_failures_are_counted_as_can_come_before_the_horizon(every):
    """Fewer would come than needed in under one of a million trials: none in 2,000 drawn here."""
    breakdown = Breakdown(every_h=every, repair_h=Spread.constant(0))
    n = failures_within(breakdown, 2400)
    lots = np.random.default_rng(1).random((2000, n))
    reached = every.quantile(lots.ravel()).reshape(lots.shape).sum(axis=1)
    assert reached.min() >= 2400
    assert n <= 2 * 2400 / every.mean() + 30


def test_breakdowns_never_hold_the_finish(tmp_path):
    diary = trial(tmp_path, changes=BREAKS)
    assert diary.finish == at(0, "13:12")
    assert diary.finished.max() > 90 * DAY
