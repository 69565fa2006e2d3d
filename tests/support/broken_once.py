"""A small site with one of everything that happens once or inside, to break it passage by passage."""

from pathlib import Path

import pytest

from support.small_site import written
from towerpace.faults import InputError
from towerpace.scenario import load

ONCE = """
[activity.crown]
lift_min = 60
lifts = 2
calendar = "site"
level = 3
needs = { tower_crane = 1 }
after = [{ on = "brackets", level = "all" }]

[activity.tests]
work_h = 20
calendar = "site"
after = [{ on = "crown" }, { on = "mock_up" }, { on = "water_test", level = 1 }]

[activity.anchors]
days = 3

[activity.spire]
days = 1

[activity.spire.concrete]
cast = { on = "anchors" }
share = 0.75
cement = "I"
curing_temperature_degC = 15

[mock_up]
try_days = 5
fix_days = 10
pass_chance = 0.65
most_tries = 3
start = 2027-03-02
after = [{ on = "anchors" }]

[closing_in]
trades = ["brackets"]
tests = true

[water_test]
levels = 2
hours = 3
needs = { gang = 1 }
calendar = "site"
after = [{ on = "brackets" }]

[trade.joints]
kind = "gang"
coats = 3
drying_h = 19
drying_cold_h = 48
cold_months = ["nov", "dec", "jan"]
needs = { gang = 1 }
calendar = "site"
after = [{ on = "closing_in" }, { on = "crown" }]
classes = { flat = { column = "flat", unit_min = 5 }, curved = { column = "curved", unit_min = 20 } }

[[risk]]
name = "strike"
chance = 0.2
on = "crown"
delay_days = 5

[[risk]]
name = "new crew"
chance = 0.2
on = "brackets"
factor = 1.2
"""

KNOWN = "handover, closing_in, water_test, crown, tests, anchors, spire, mock_up, brackets, joints"


def faults(folder: Path, toml: str) -> list[str]:
    """Faults of the small site with more tables, one line each, without file and line."""
    path = written(folder, toml)
    with pytest.raises(InputError) as caught:
        load(path)
    return [fault.text().split("  ", maxsplit=1)[-1] for fault in caught.value.faults]


def faults_of_broken(folder: Path, old: str, new: str) -> list[str]:
    """The same with everything, one passage of it replaced, which must be there exactly once."""
    assert ONCE.count(old) == 1, f"{old!r} stands {ONCE.count(old)} times in the text"
    return faults(folder, ONCE.replace(old, new))
