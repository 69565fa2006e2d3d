"""What may not be said of deliveries, yard, factory, hoists and absences: one line each."""

import datetime as dt

import pytest

from support.supply_tower import write_supply
from towerpace.faults import InputError
from towerpace.scenario import load

CALL_OFF = {"delivery.order": "call-off", "delivery.levels_ahead": 1, "delivery.lead_days": 2}
MOCK_UP = "[mock_up]\ntry_days = 4\npass_chance = 1\nfix_days = 0\nmost_tries = 1\n"

FAULTS = {
    "order misspelt": (
        {"delivery.order": "calloff"},
        'delivery.order: found "calloff"; allowed: "planned" or "call-off"; nearest: call-off',
    ),
    "call-off without lead": (
        {k: v for k, v in CALL_OFF.items() if k != "delivery.lead_days"},
        'delivery.lead_days: missing; allowed: lead_days with order = "call-off"',
    ),
    "lead without call-off": (
        {"delivery.lead_days": 2},
        'delivery.lead_days: found 2; allowed: lead_days only with order = "call-off"',
    ),
    "stock that waits for nothing": (
        {"factory": {"panels_per_week": 70, "start": dt.date(2027, 3, 1), "stock_waits": True}},
        "factory.stock_waits: found true; allowed: stock_waits only with after: what it waits for",
    ),
    "empties that ride and never go": (
        {"hoist.empties_ride_min": 3},
        "hoist.empties_ride_min: found 3; allowed: empties_ride_min only with empties = true",
    ),
    "early without hours": (
        {"delivery.early_chance": 0.1},
        "delivery.early_h: missing; allowed: early_h beside early_chance",
    ),
    "early and late": (
        {"delivery.early_chance": 0.4, "delivery.early_h": 5, "delivery.late_chance": 0.7},
        "delivery.early_chance: found 0.4; allowed: at most 1 together with late_chance, which is 0.7",
    ),
    "accept without early": (
        {"delivery.accept_early": False},
        "delivery.accept_early: found false; allowed: accept_early only with early_chance",
    ),
    "patience without return": (
        {"delivery.turn_away_h": 3, "delivery.turned_away_at_most": 2},
        "delivery.back_days: missing; allowed: back_days beside turn_away_h",
    ),
    "return without patience": (
        {"delivery.back_days": 3},
        "delivery.back_days: found 3; allowed: back_days only with turn_away_h",
    ),
    "wrong order without sorting": (
        {"delivery.wrong_order_chance": 0.1},
        "delivery.sort_min: missing; allowed: sort_min beside wrong_order_chance",
    ),
    "unknown helper": (
        {"delivery.unload_needs": {"hiost": 1}},
        'delivery.unload_needs.hiost: found "hiost"; allowed: gang, crane, hoist, bay; nearest: hoist',
    ),
    "too many helpers": (
        {"delivery.unload_needs": {"hoist": 2}},
        'delivery.unload_needs.hoist: found 2 of "hoist"; allowed: at most resource.hoist.count, which is 1',
    ),
    "helper that a front keeps": (
        {"delivery.unload_needs": {"gang": 1}},
        'delivery.unload_needs.gang: found "gang"; allowed: not what trade "panels" keeps while it waits '
        "for crates: the site could lock",
    ),
    "helper that is the bay": (
        {"delivery.unload_needs": {"bay": 1}},
        'delivery.unload_needs.bay: found "bay"; allowed: what is taken beside delivery.resource',
    ),
    "helper in another order": (
        {"delivery.unload_needs": {"hoist": 1}, "resource.hoist.order": "first come"},
        'delivery.unload_needs.hoist: found a resource of order "first come"; '
        'allowed: order "rank" as "bay", with which it is taken',
    ),
    "small yard": (
        {"yard.slots": 1},
        "yard.slots: found 1; allowed: at least delivery.crates_per_truck, which is 2: "
        "a truck is unloaded in one go",
    ),
    "factory without start": (
        {"factory.panels_per_week": 70},
        "factory: missing its start; allowed: start or after, or both",
    ),
    "factory after what is not there": (
        {"factory": {"panels_per_week": 70, "after": "mock_op"}},
        'factory.after: found "mock_op"; allowed: mock_up; nearest: mock_up',
    ),
    "factory before the start": (
        {"factory": {"panels_per_week": 70, "start": dt.date(2026, 1, 1)}},
        "factory.start: found 2026-01-01; allowed: a date on or after tower.start, which is 2027-03-01",
    ),
    "factory that makes nothing": (
        {"factory": {"panels_per_week": 0, "after": "mock_up"}},
        "factory.panels_per_week: found 0; allowed: a number above 0",
    ),
    "unknown night": (
        {"hoist.night": "drak"},
        'hoist.night: found "drak"; allowed: day, dark; nearest: dark',
    ),
    "extension without hours": (
        {"hoist.extension_levels": 2},
        "hoist.extension_h: missing; allowed: extension_h beside extension_levels",
    ),
    "arrives before the start": (
        {"resource.hoist.arrives": dt.date(2027, 2, 1)},
        "resource.hoist.arrives: found 2027-02-01; "
        "allowed: a date on or after tower.start, which is 2027-03-01",
    ),
    "leaves before it arrives": (
        {"resource.hoist.arrives": dt.date(2027, 4, 1), "resource.hoist.leaves": dt.date(2027, 4, 1)},
        "resource.hoist.leaves: found 2027-04-01; allowed: a date after arrives, which is 2027-04-01",
    ),
    "back before it goes": (
        {"resource.gang.away": [{"from": dt.date(2027, 4, 2), "to": dt.date(2027, 4, 1)}]},
        "resource.gang.away[0].to: found 2027-04-01; allowed: a date on or after from, which is 2027-04-02",
    ),
    "failures all the time": (
        {"resource.hoist.breakdown": {"every_h": 0.5, "repair_h": 1}},
        "resource.hoist.breakdown.every_h: found 0.5; allowed: a number or a spread at least 1",
    ),
    "breakdown misspelt": (
        {"resource.hoist.brekdown": {"every_h": 5, "repair_h": 1}},
        "resource.hoist.brekdown: found an unknown key",
    ),
}


@pytest.mark.parametrize(("changes", "text"), FAULTS.values(), ids=FAULTS.keys())
def test_what_may_not_be_said_is_told_in_one_line(tmp_path, changes, text):
    with pytest.raises(InputError) as caught:
        load(write_supply(tmp_path, more=MOCK_UP), changes)
    assert len(caught.value.faults) == 1
    assert text in str(caught.value)


def test_several_absences_come_one_after_the_other(tmp_path):
    away = [
        {"from": dt.date(2027, 4, 1), "to": dt.date(2027, 4, 9)},
        {"from": dt.date(2027, 4, 9), "to": dt.date(2027, 4, 12)},
    ]
    with pytest.raises(InputError, match=r"away\[1\].from: found 2027-04-09; allowed: a date after the end"):
        load(write_supply(tmp_path), {"resource.gang.away": away})


def test_all_faults_come_at_once(tmp_path):
    names = ("small yard", "unknown night", "extension without hours")
    changes = {key: value for name in names for key, value in FAULTS[name][0].items()}
    with pytest.raises(InputError) as caught:
        load(write_supply(tmp_path), changes)
    assert len(caught.value.faults) == 3
