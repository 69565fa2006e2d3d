"""A small site worked by hand: certain minutes, no weather, work round the clock; all numbers invented.

One way up is 1 min to level 1 (59 m at 1 m/s: 59 s and 1 s to gain speed), 2 to level 2 and 3 to level 3. So
a hoist trip with 3 + 3 min of handling lasts 8, 10 and 12 min.
"""

from pathlib import Path

from towerpace.answers.prepare import Prepared, prepare
from towerpace.draws import Draw
from towerpace.engine.diary import Diary
from towerpace.engine.reference import run
from towerpace.scenario import load

DAY = 1440

TOML = """\
[tower]
name = "Panels by hand"
start = 2027-03-01
horizon_days = 200
levels = "levels.csv"

[calendar.always]
week = { mon = ["00:00-24:00"], tue = ["00:00-24:00"], wed = ["00:00-24:00"], thu = ["00:00-24:00"], \
fri = ["00:00-24:00"], sat = ["00:00-24:00"], sun = ["00:00-24:00"] }

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
[resource.sealer]
count = 1

[crane]
resource = "crane"
set_up_min = 60
zone_move_min = 30
level_move_min = 120
per_level_min = 0
panels_per_position = 100
reposition_min = 15

[hoist]
resource = "hoist"
calendar = "always"
limits = []
load_min = 3
unload_min = 3
speed_m_s = 1.0
acceleration_m_s2 = 1.0
share = 1.0

[delivery]
calendar = "always"
crates_per_truck = 8
late_h = 0
late_chance = 0
resource = "bay"
unload_min = 30

[family.flat]
column = "flat"
set_min = 50
limits = []
crate_panels = 3

[family.sound]
column = "sound"
set_min = 50
limits = []
crate_panels = 3

[trade.panels]
kind = "panels"
families = ["flat", "sound"]
needs = { gang = 1 }
calendar = "always"
after = [{ on = "panels", levels_up = -1 }]

[trade.seal]
kind = "gang"
column = "joints"
unit_min = 10
needs = { sealer = 1 }
calendar = "always"
after = [{ on = "panels" }]

[closing_in]
trades = ["panels"]
"""

HEADER = "level,zone,height_m,difficulty,handover,delivery,flat,sound,joints,left\n"


def row(
    level: int,
    zone: str = "north",
    *,
    flat: int = 0,
    sound: int = 0,
    joints: int = 0,
    left: int = 0,
    day: int = 1,
) -> str:
    """A row of the level table; its trucks are due on a day of March."""
    where = f"{level},{zone},{60 * level - 1},1.0"
    return f"{where},2027-03-01,2027-03-{day:02d},{flat},{sound},{joints},{left}\n"


def site(folder: Path, rows: list[str], **changes: object) -> Prepared:
    """The site with these rows and changes; a double underscore stands for the dot of a key."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "scenario.toml").write_text(TOML, encoding="utf-8")
    (folder / "levels.csv").write_text(HEADER + "".join(rows), encoding="utf-8")
    dotted = {key.replace("__", "."): value for key, value in changes.items()}
    return prepare(load(folder / "scenario.toml", dotted))


def played(ready: Prepared, *, seed: int = 1, trial: int = 0) -> tuple[Draw, Diary]:
    """One trial."""
    draw = ready.chooser.draw(seed, trial)
    return draw, run(ready.tower.plan, draw)


def spans(diary: Diary, *names: str) -> list[tuple[int, int]]:
    """Start and end of some steps. [min]"""
    return [(diary.started_at(name), diary.finished_at(name)) for name in names]
