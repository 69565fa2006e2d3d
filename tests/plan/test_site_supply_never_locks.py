"""Scarce yards, scarce floors and unreliable trucks: every trial finishes, and nothing is lost on the way."""

import datetime as dt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from support.plain_book import clocks
from support.supply_tower import HEADER, at, played, prepared
from towerpace.answers.ledger.book import Ledger
from towerpace.engine.diary import NEVER

RECEIVING = """
[resource.receiving]
count = 1
order = "ORDER"
"""
INNER = """
[yard]
slots = 2
[storage]
slots_per_level = 4

[family.large]
column = "flat"
set_min = 10
limits = []
crate_panels = 8

[trade.inner]
kind = "panels"
families = ["large"]
needs = { gang = 1 }
calendar = "day"
after = [{ on = "panels" }]
"""
UNRELIABLE = {
    "structure.slip_days": {"low": -0.5, "likely": 0, "high": 4, "shape": "pert"},
    "delivery.late_chance": 0.5,
    "delivery.late_h": {"low": 1, "likely": 48, "high": 200, "shape": "pert"},
    "delivery.early_chance": 0.3,
    "delivery.early_h": {"low": 1, "likely": 20, "high": 60, "shape": "pert"},
    "delivery.unload_min": {"low": 30, "likely": 60, "high": 200, "shape": "pert"},
}
SHORT = {"low": 5, "likely": 40, "high": 200, "shape": "pert"}
FEATURES = {
    "call-off": {
        "delivery.order": "call-off",
        "delivery.levels_ahead": 2,
        "delivery.lead_days": {"low": 0, "likely": 2, "high": 5, "shape": "pert"},
    },
    "turned away": {
        "delivery.turn_away_h": 2,
        "delivery.back_days": 1.3,
        "delivery.turned_away_at_most": 2,
    },
    "wrong order": {"delivery.wrong_order_chance": 0.5, "delivery.sort_min": SHORT},
    "helpers": {"delivery.unload_needs": {"receiving": 1}},
    "sent away": {"delivery.accept_early": False},
    "empties": {"hoist.empties": True},
    "night": {"hoist.night": "dark"},
    "extensions": {"hoist.extension_levels": 1, "hoist.extension_h": SHORT | {"high": 60, "likely": 6}},
    "breakdowns": {
        "resource.hoist.breakdown": {"every_h": SHORT, "repair_h": 3},
        "resource.crane.breakdown": {"every_h": SHORT, "repair_h": 3, "swap_h": 1},
        "resource.bay.breakdown": {"every_h": SHORT, "repair_h": 3},
    },
    "away": {
        "resource.hoist.arrives": dt.date(2027, 3, 4),
        "resource.gang.away": [{"from": dt.date(2027, 3, 10), "to": dt.date(2027, 3, 13)}],
        "resource.bay.away": [{"from": dt.date(2027, 3, 8), "to": dt.date(2027, 3, 9)}],
    },
    "two cranes": {"resource.crane.count": 2, "resource.gang.count": 2},
    "first come": {"resource.bay.order": "first come", "resource.hoist.order": "first come"},
    "factory": {"factory": {"panels_per_week": 60, "stock_panels": 10, "start": dt.date(2027, 3, 2)}},
    "large trucks": {"delivery.crates_per_truck": 3},
}


@st.composite
def towers(draw):
    """Levels of three zones with few panels each, and any mix of features."""
    rows = [HEADER]
    counts = draw(st.lists(st.integers(0, 7), min_size=9, max_size=12).filter(lambda c: len(c) % 3 == 0))
    for k, panels in enumerate(counts):
        level, zone = k // 3 + 1, "nes"[k % 3]
        due = draw(st.integers(1, 12))
        rows.append(f"{level},{zone},{60 * level - 2},1.0,2027-03-{3 * level:02d},2027-03-{due:02d},{panels}")
    chosen = draw(st.sets(st.sampled_from(sorted(FEATURES))))
    slots = draw(st.sampled_from([None, 4, 6]))
    return "\n".join(rows) + "\n", chosen, slots


def scarce(folder, levels, chosen, slots):
    """The yard holds one truck, the floor the largest front."""
    changes = dict(UNRELIABLE)
    for name in sorted(chosen):
        changes |= FEATURES[name]
    changes["yard.slots"] = changes.get("delivery.crates_per_truck", 2)
    if slots is not None:
        changes["storage.slots_per_level"] = slots
    order = "first come" if "first come" in chosen else "rank"
    return prepared(folder, levels=levels, more=RECEIVING.replace("ORDER", order), changes=changes)


@given(towers(), st.integers(0, 10**6))
@settings(max_examples=120, deadline=None, derandomize=True)
def test_every_trial_of_a_scarce_site_finishes(tmp_path_factory, tower, seed):
    ready = scarce(tmp_path_factory.mktemp("site"), *tower)
    for trial in range(3):
        diary = played(ready, seed=seed, trial=trial)[2]
        assert diary.unfinished == []


@given(towers(), st.integers(0, 10**6))
@settings(max_examples=60, deadline=None, derandomize=True)
def test_crates_are_conserved_and_the_yard_is_never_overfilled(tmp_path_factory, tower, seed):
    """Counted from the diary alone: a crate is in the yard from unloading on until it is up."""
    ready = scarce(tmp_path_factory.mktemp("site"), *tower)
    _, _, diary = played(ready, seed=seed)
    plan, sizes = diary.plan, ready.scenario.settings
    ups = [n for n in plan.names if n.endswith(" up")]
    counts = ready.scenario.levels.counts["flat"]
    assert len(ups) == int(np.sum(-(-counts // 2)))
    assert ready.tower.panels.size == int(np.sum(counts))
    moves = []
    for name in plan.names:
        if name.endswith(" unloaded"):
            step = plan.first_of(name)
            load = sum(1 for trip in plan.after[step].tolist() if plan.names[trip].endswith(" up"))
            moves.append((diary.started_at(name), 1, load or _load_behind_sorting(plan, name)))
    moves += [(diary.finished_at(name), 0, -1) for name in ups]
    inside = np.cumsum([change for _, _, change in sorted(moves)])
    assert inside.max(initial=0) <= sizes.yard.slots
    assert inside.size == 0 or inside[-1] == 0


def _load_behind_sorting(plan, name):
    clear = plan.first_of(name.replace(" unloaded", " clear"))
    return sum(1 for trip in plan.after[clear].tolist() if plan.names[trip].endswith(" up"))


@given(towers(), st.integers(0, 10**6))
@settings(max_examples=60, deadline=None, derandomize=True)
def test_the_ledger_of_a_scarce_site_adds_up(tmp_path_factory, tower, seed):
    ready = scarce(tmp_path_factory.mktemp("site"), *tower)
    ledger = Ledger(ready.tower)
    draw, _, diary = played(ready, seed=seed)
    book, minutes = ledger.of(draw, diary)
    assert np.array_equal(book.sum(axis=2), clocks(ledger, diary))
    began = (diary.started != NEVER) & (diary.finished != NEVER)
    took = (diary.finished - diary.ready)[began]
    assert np.array_equal((minutes.waiting + minutes.doing).sum(axis=0)[began], took)


def test_a_small_front_does_not_take_the_floor_slots_of_the_front_it_waits_for(tmp_path):
    """The inner panels of a zone fill one crate, the outer ones four, on a level of four slots.

    When the north zone frees its slots one by one, the inner crate of the east would fit first; it would wait
    for the outer panels of the east, and they for its slot.
    """
    levels = "\n".join([HEADER, *(f"1,{zone},58,1.0,2027-03-01,2027-03-01,8" for zone in "ne")]) + "\n"
    assert played(prepared(tmp_path, levels=levels, more=INNER))[2].unfinished == []


@pytest.mark.parametrize("gate", ["rank", "first come"])
def test_a_yard_full_of_later_levels_still_lets_the_crane_have_its_crates(tmp_path, gate):
    """Level 1 has its second truck 8 days late; by then trucks of levels 2 and 3 stand at the gate."""
    rows = [HEADER]
    rows += [f"{k},n,{60 * k - 2},1.0,2027-03-01,2027-03-0{1 + k},8" for k in (1, 2, 3)]
    changes = {"resource.bay.order": gate, "delivery.late_chance": 0.4, "delivery.late_h": 192}
    for seed in range(30):
        ready = prepared(
            tmp_path,
            levels="\n".join(rows) + "\n",
            more="[yard]\nslots = 2\n[storage]\nslots_per_level = 4\n",
            changes=changes,
        )
        diary = played(ready, seed=seed)[2]
        assert diary.finish is not None
        assert diary.finish < at(40, "0:00")


def test_a_hoist_more_changes_no_arrival_of_a_truck(tmp_path):
    one = scarce(tmp_path / "one", *CROWDED)
    two = prepared(
        tmp_path / "two",
        levels=CROWDED[0],
        changes={**UNRELIABLE, "yard.slots": 2, "resource.hoist.count": 2},
    )
    for trial in range(10):
        dates = [
            [r.chooser.draw(5, trial).date[i] for n, i in r.tower.plan.index.items() if n.endswith("arrives")]
            for r in (one, two)
        ]
        assert dates[0] == dates[1]
        assert len(set(dates[0])) > 1


CROWDED = (
    "\n".join([HEADER, *(f"{k},n,{60 * k - 2},1.0,2027-03-01,2027-03-02,8" for k in (1, 2, 3))]) + "\n",
    set(),
    None,
)
