"""What stretches or shortens the minutes of panels: learning by front, long shifts, risks."""

import pytest

from support.supply_tower import levels_of, played, prepared

# Two panels of 30 minutes on each of four fronts.
FRONTS = levels_of(
    [(level, zone, "2027-03-01", "2027-03-01", 2) for level in (1, 2) for zone in ("north", "south")]
)
PLACES = [(level, zone) for level in (1, 2) for zone in ("north", "south")]


def minutes_of(folder, *, levels=FRONTS, **changes) -> list[int]:
    """Minutes of the first panel of every front in planned order."""
    ready = prepared(folder, levels=levels, changes={f"trade.panels.{k}": v for k, v in changes.items()})
    work, index = played(ready)[0].work, ready.tower.plan.index
    return [int(work[index[f"panels L{level} {zone}: panel 1"]]) for level, zone in PLACES]


def test_panels_are_set_faster_from_front_to_front_up_to_the_plateau(tmp_path):
    """Unit curve at 80 %: 1, 0.8, 0.7021, and no further."""
    learning = {"rate": 0.8, "plateau_fronts": 3}

    assert minutes_of(tmp_path, learning=learning) == [30, 24, 21, 21]


def test_learning_of_panels_begins_anew_with_another_difficulty(tmp_path):
    """Level 2 is half as hard again: 45 min, then 36."""
    harder = FRONTS.replace(",118,1.0,", ",118,1.5,")
    learning = {"rate": 0.8, "plateau_fronts": 3, "reset": "difficulty"}

    assert minutes_of(tmp_path, levels=harder, learning=learning) == [30, 24, 45, 36]


def test_long_shifts_stretch_every_lift_and_what_must_fit_before_the_shift_ends(tmp_path):
    """Ten hours a day, two of them beyond eight, half their output lost: 30 / (1 - 0.2 x 0.5) = 33 min."""
    changes = {"trade.panels.long_shift": {"after_h": 8, "loss": 0.5}}
    ready = prepared(tmp_path, levels=FRONTS, changes=changes)
    step = ready.tower.plan.index["panels L1 north: panel 1"]

    assert played(ready)[0].work[step] == 33
    assert ready.tower.plan.expected[step] == 33


@pytest.mark.parametrize(("chance", "minutes"), [(1, 36), (0, 30)])
def test_a_risk_stretches_lifts_but_nobody_plans_for_it(tmp_path, chance, minutes):
    changes = {"risk": [{"name": "new crew", "chance": chance, "on": "panels", "factor": 1.2}]}
    ready = prepared(tmp_path, levels=FRONTS, changes=changes)
    step = ready.tower.plan.index["panels L1 north: panel 1"]

    assert played(ready)[0].work[step] == minutes
    assert ready.tower.plan.expected[step] == 30
