"""Trucks, yard and factory, each worked by hand to the minute on a tower of constant minutes."""

import pytest

from support.supply_tower import DAY, at, levels_of, played, prepared

TWO_LEVELS = levels_of(
    [(1, "north", "2027-03-01", "2027-03-01", 4), (2, "north", "2027-03-06", "2027-03-01", 4)]
)
CALL_OFF = {
    "delivery.order": "call-off",
    "delivery.levels_ahead": 1,
    "delivery.lead_days": 2,
    "delivery.unload_min": 60,
}


def trial(here, **more):
    return played(prepared(here, **more))[2]


def test_a_truck_on_call_is_called_by_the_handover_levels_below_and_at_the_start_below_the_tower(tmp_path):
    levels = levels_of([(k, "north", f"2027-03-{5 * k + 1:02d}", "", 2) for k in (1, 2, 3)])
    diary = trial(tmp_path, levels=levels, changes=CALL_OFF)
    came = [diary.finished_at(f"panels L{k} north: truck 1 arrives") for k in (1, 2, 3)]
    # L1 is called at the start; L2 at the handover of L1 on day 5; L3 at that of L2 on day 10; 2 days each.
    assert came == [2 * DAY, 7 * DAY, 12 * DAY]


def test_lateness_of_a_truck_on_call_comes_on_top_of_its_lead(tmp_path):
    diary = trial(tmp_path, changes=CALL_OFF | {"delivery.late_chance": 1, "delivery.late_h": 5})
    assert diary.finished_at("panels L1 north: truck 1 arrives") == 2 * DAY + 5 * 60


def test_levels_called_off_need_no_delivery_dates(tmp_path):
    levels = levels_of([(1, "north", "2027-03-01", "", 8)])
    assert trial(tmp_path, levels=levels, changes=CALL_OFF).finish is not None


EARLY = {"delivery.early_chance": 1, "delivery.early_h": 20}
LATER = levels_of([(1, "north", "2027-03-01", "2027-03-04", 8)])


@pytest.mark.parametrize(
    ("more", "arrives", "unloaded"),
    [
        ({}, at(2, "4:00"), at(2, "8:00")),  # 20 h before the midnight of day 3; the gate opens at 7:00
        ({"delivery.accept_early": False}, at(3, "0:00"), at(3, "8:00")),
        ({"delivery.accept_early": False, "delivery.back_days": 2}, at(4, "4:00"), at(4, "8:00")),
    ],
)
def test_an_early_truck_waits_at_the_gate_or_comes_again(tmp_path, more, arrives, unloaded):
    diary = trial(tmp_path, levels=LATER, changes=EARLY | more)
    assert diary.finished_at("panels L1 north: truck 1 arrives") == arrives
    assert diary.finished_at("panels L1 north: truck 1 unloaded") == unloaded


def test_no_truck_is_early_and_late(tmp_path):
    changes = {"delivery.late_chance": 0.5, "delivery.late_h": 5} | EARLY | {"delivery.early_chance": 0.5}
    ready = prepared(tmp_path, levels=LATER, changes=changes)
    step = ready.tower.plan.first_of("panels L1 north: truck 1 arrives")
    dates = {int(ready.chooser.draw(1, trial).date[step]) for trial in range(60)}
    assert dates == {at(2, "4:00"), at(3, "5:00")}


def test_a_truck_that_waits_too_long_leaves_and_is_back_later(tmp_path):
    """Truck 1 takes the bay from 7:00 to 12:00; truck 2 leaves at 9:00 and is back at 9:00 next day."""
    away = {"delivery.turn_away_h": 2, "delivery.back_days": 1, "delivery.turned_away_at_most": 2}
    diary = trial(tmp_path, changes=away | {"delivery.unload_min": 300})
    assert diary.finished_at("panels L1 north: truck 1 unloaded") == at(0, "12:00")
    assert diary.started_at("panels L1 north: truck 2 turned away 1") == at(0, "9:00")
    assert diary.started_at("panels L1 north: truck 2 unloaded") == at(1, "9:00")
    assert diary.started_at("panels L1 north: truck 1 turned away 1") == -1
    assert diary.started_at("panels L1 north: truck 2 turned away 2") == -1


@pytest.mark.parametrize("order", ["rank", "first come"])
@pytest.mark.parametrize("policy", ["lowest front", "most urgent"])
def test_a_truck_whose_patience_ends_when_the_bay_comes_free_is_let_in(tmp_path, order, policy):
    """Truck 1 leaves the bay at 9:00, two hours after truck 2 came with two hours' patience."""
    away = {"delivery.turn_away_h": 2, "delivery.back_days": 1, "delivery.turned_away_at_most": 2}
    changes = away | {"delivery.unload_min": 120, "resource.bay.order": order, "policy.rank": policy}
    diary = trial(tmp_path, changes=changes)
    assert diary.started_at("panels L1 north: truck 2 unloaded") == at(0, "9:00")
    assert diary.started_at("panels L1 north: truck 2 turned away 1") == -1


def test_a_truck_stays_once_it_has_been_turned_away_often_enough(tmp_path):
    """The bay is shut for days by the truck before it: away twice, then it waits until it is let in."""
    away = {"delivery.turn_away_h": 1, "delivery.back_days": 0.25, "delivery.turned_away_at_most": 2}
    diary = trial(tmp_path, changes=away | {"delivery.unload_min": 600})
    # Day 0: waits 7:00-8:00, away to 14:00, waits to 15:00, away to 21:00; the bay is free at 17:00.
    assert diary.started_at("panels L1 north: truck 2 turned away 2") == at(0, "15:00")
    assert diary.started_at("panels L1 north: truck 2 unloaded") == at(1, "7:00")


def test_a_load_in_the_wrong_order_is_sorted_where_it_was_unloaded(tmp_path):
    changes = {"delivery.wrong_order_chance": 1, "delivery.sort_min": 90}
    diary = trial(tmp_path, changes=changes)
    assert diary.finished_at("panels L1 north: truck 1 unloaded") == at(0, "8:00")
    assert diary.finished_at("panels L1 north: truck 1 sorted") == at(0, "9:30")
    assert diary.started_at("panels L1 north: crate 1 up") == at(0, "9:30")
    assert diary.started_at("panels L1 north: truck 2 unloaded") == at(0, "9:30")


def test_a_load_in_the_right_order_loses_no_minute_even_at_the_end_of_the_shift(tmp_path):
    changes = {"delivery.wrong_order_chance": 0, "delivery.sort_min": 90, "delivery.unload_min": 300}
    diary = trial(tmp_path, changes=changes)
    assert diary.finished_at("panels L1 north: truck 2 clear") == at(0, "17:00")


def test_whoever_unloads_is_taken_beside_the_bay(tmp_path):
    more = "[resource.receiving_gang]\ncount = 1\n"
    changes = {"resource.bay.count": 2, "delivery.unload_needs": {"receiving_gang": 1}}
    diary = trial(tmp_path, more=more, changes=changes)
    assert diary.started_at("panels L1 north: truck 2 unloaded") == at(0, "8:00")


def test_a_truck_waits_in_line_until_the_yard_has_room_for_its_load(tmp_path):
    """Truck 1 fills the yard of 2; its crates are up at 8:12 and 8:24."""
    diary = trial(tmp_path, more="[yard]\nslots = 2\n")
    assert diary.started_at("panels L1 north: truck 2 unloaded") == at(0, "8:24")


def test_with_a_yard_a_crate_waits_on_the_ground_for_its_level(tmp_path):
    """Level 2 is handed over on day 5; its truck, due on day 0, is unloaded at once."""
    diary = trial(tmp_path, levels=TWO_LEVELS, more="[yard]\nslots = 4\n")
    assert diary.started_at("panels L2 north: truck 1 unloaded") == at(0, "8:00")
    assert diary.started_at("panels L2 north: crate 1 up") == at(5, "7:00")


def test_a_truck_is_let_in_only_once_its_front_owns_its_floor_slots(tmp_path):
    """Two fronts of two crates on one level of two slots: the second waits for the first's last panel."""
    levels = levels_of([(1, zone, "2027-03-01", "2027-03-01", 4) for zone in ("north", "south")])
    diary = trial(tmp_path, levels=levels, more="[yard]\nslots = 9\n[storage]\nslots_per_level = 2\n")
    last = diary.finished_at("panels L1 north: panel 4")
    assert diary.finished_at("panels L1 south: floor slots") == last
    assert diary.started_at("panels L1 south: truck 1 unloaded") == last


def test_a_truck_waits_until_its_load_is_made_at_the_weekly_rate_after_the_stock(tmp_path):
    """70 panels a week are 144 minutes a panel; 5 in stock: panels 6 to 8 of the second load are made."""
    diary = trial(tmp_path, more="[factory]\npanels_per_week = 70\nstock_panels = 5\nstart = 2027-03-03\n")
    assert diary.finished_at("panels L1 north: truck 1 arrives") == 0
    assert diary.finished_at("panels L1 north: load of truck 2 made") == 2 * DAY + 3 * 144
    assert diary.finished_at("panels L1 north: truck 2 arrives") == 2 * DAY + 3 * 144


def test_the_factory_makes_its_batches_in_planned_order_without_drift(tmp_path):
    """7 panels a week, one a day: after 3 in stock, panel p of all is made p - 3 days after the start."""
    factory = "[factory]\npanels_per_week = 7\nstock_panels = 3\nstart = 2027-03-01\n"
    diary = trial(tmp_path, levels=TWO_LEVELS, more=factory)
    made = [diary.finished_at(f"panels L{k} north: load of truck 1 made") for k in (1, 2)]
    assert made == [1 * DAY, 5 * DAY]


def test_the_factory_starts_when_the_mock_up_has_passed(tmp_path):
    mock_up = "[mock_up]\ntry_days = 4\npass_chance = 1\nfix_days = 0\nmost_tries = 1\n"
    diary = trial(tmp_path, more=mock_up + '[factory]\npanels_per_week = 70\nafter = "mock_up"\n')
    assert diary.finished_at("panels L1 north: load of truck 1 made") == 4 * DAY + 4 * 144


def test_panels_in_stock_may_be_barred_until_the_mock_up_has_passed(tmp_path):
    """Four of the first load in stock: it comes on the first day, or with the pass on day 4."""
    mock_up = "[mock_up]\ntry_days = 4\npass_chance = 1\nfix_days = 0\nmost_tries = 1\n"
    factory = '[factory]\npanels_per_week = 70\nstock_panels = 4\nafter = "mock_up"\n'
    for bars, first in ((False, 0), (True, 4 * DAY)):
        diary = trial(tmp_path / str(bars), more=mock_up + factory, changes={"factory.stock_waits": bars})
        arrived = [diary.finished_at(f"panels L1 north: truck {k} arrives") for k in (1, 2)]
        assert arrived == [first, 4 * DAY + 4 * 144]


def test_a_truck_that_is_away_holds_nobody_at_the_gate(tmp_path):
    """Truck 2 of the north is back at 9:00 on day 1; that of the south, due that day, is in at 7:00."""
    rows = [(1, "north", "2027-03-01", "2027-03-01", 8), (1, "south", "2027-03-01", "2027-03-02", 4)]
    away = {"delivery.turn_away_h": 2, "delivery.back_days": 1, "delivery.turned_away_at_most": 1}
    changes = away | {"delivery.unload_min": 300, "yard.slots": 9}
    diary = trial(tmp_path, levels=levels_of(rows), changes=changes)
    assert diary.started_at("panels L1 north: truck 2 turned away 1") == at(0, "9:00")
    assert diary.started_at("panels L1 south: truck 1 unloaded") == at(1, "7:00")
    assert diary.started_at("panels L1 north: truck 2 unloaded") == at(1, "12:00")
