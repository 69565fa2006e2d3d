"""A small tower whose supply is said by each test: constant minutes, every day from 07:00 to 17:00.

All numbers are invented for the tests. A crate takes 12 minutes to level 1 (58 m) and 14 to level 2 (118 m):
5 to load, 5 to unload, and twice 60 or 120 s under way at 1 m/s and 0.5 m/s2.
"""

from collections.abc import Mapping, Sequence
from pathlib import Path

from towerpace.answers.prepare import Prepared, prepare
from towerpace.draws import Draw
from towerpace.engine.diary import Diary
from towerpace.engine.openings import Openings
from towerpace.engine.reference import run
from towerpace.scenario import load

DAY = 1440

SUPPLY = """\
[tower]
name = "Supply"
start = 2027-03-01
horizon_days = 100
levels = "levels.csv"

[calendar.day]
week = { mon = ["07:00-17:00"], tue = ["07:00-17:00"], wed = ["07:00-17:00"], thu = ["07:00-17:00"], \
fri = ["07:00-17:00"], sat = ["07:00-17:00"], sun = ["07:00-17:00"] }

[calendar.dark]
week = { mon = ["20:00-22:00"], tue = ["20:00-22:00"], wed = ["20:00-22:00"], thu = ["20:00-22:00"], \
fri = ["20:00-22:00"], sat = ["20:00-22:00"], sun = ["20:00-22:00"] }

[structure]
slip_days = 0

[resource.gang]
count = 1
[resource.crane]
count = 1
[resource.hoist]
count = 1
[resource.bay]
count = 1

[crane]
resource = "crane"
set_up_min = 60
zone_move_min = 30
level_move_min = 120
per_level_min = 0
panels_per_position = 4
reposition_min = 0

[hoist]
resource = "hoist"
calendar = "day"
limits = []
load_min = 5
unload_min = 5
speed_m_s = 1.0
acceleration_m_s2 = 0.5
share = 1

[delivery]
calendar = "day"
crates_per_truck = 2
late_h = 0
late_chance = 0
resource = "bay"
unload_min = 60

[family.flat]
column = "flat"
set_min = 30
limits = []
crate_panels = 2

[trade.panels]
kind = "panels"
families = ["flat"]
needs = { gang = 1 }
calendar = "day"
after = [{ on = "handover" }, { on = "panels", levels_up = -1 }]

"""

HEADER = "level,zone,height_m,difficulty,handover,delivery,flat"


def levels_of(rows: Sequence[tuple[int, str, str, str, int]]) -> str:
    """A level table: level, zone, handover, delivery and panels of each front; level k is at 60 k - 2 m."""
    lines = [
        f"{level},{zone},{60 * level - 2},1.0,{handover},{delivery},{panels}"
        for level, zone, handover, delivery, panels in rows
    ]
    return "\n".join([HEADER, *lines]) + "\n"


ONE_FRONT = levels_of([(1, "north", "2027-03-01", "2027-03-01", 8)])


def write_supply(folder: Path, *, levels: str = ONE_FRONT, more: str = "") -> Path:
    """Write the scenario; returns the path of its file."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "scenario.toml").write_text(SUPPLY + more, encoding="utf-8")
    (folder / "levels.csv").write_text(levels, encoding="utf-8")
    return folder / "scenario.toml"


def prepared(
    folder: Path, *, levels: str = ONE_FRONT, more: str = "", changes: Mapping[str, object] | None = None
) -> Prepared:
    """The scenario with changes laid over it, compiled."""
    return prepare(load(write_supply(folder, levels=levels, more=more), changes))


def played(ready: Prepared, *, seed: int = 1, trial: int = 0) -> tuple[Draw, Openings, Diary]:
    """One trial."""
    draw, plan = ready.chooser.draw(seed, trial), ready.tower.plan
    openings = Openings(plan.windows, hours=draw.hours, horizon=plan.horizon)
    return draw, openings, run(plan, draw, openings=openings)


def at(day: int, clock: str) -> int:
    """Minute of a time of a day, day 0 the first."""
    hours, minutes = clock.split(":")
    return DAY * day + 60 * int(hours) + int(minutes)
