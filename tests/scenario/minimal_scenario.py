"""Two small valid scenarios as text, and a writer for them: one with one trade, one with every table.

All numbers are invented for the tests.
"""

from collections.abc import Mapping
from pathlib import Path

ONE_TRADE = """\
[tower]
name = "One Trade"
start = 2027-03-01
horizon_days = 100
levels = "levels.csv"

[calendar.site]
week = { mon = ["07:00-12:00", "12:30-17:00"], tue = ["07:00-12:00", "12:30-17:00"] }

[structure]
slip_days = 0

[resource.gang]
count = 1

[trade.brackets]
kind = "gang"
column = "brackets"
unit_min = 9
needs = { gang = 1 }
calendar = "site"
after = [ { on = "handover" } ]
"""

ONE_TRADE_LEVELS = """\
level,zone,height_m,difficulty,handover,brackets
1,north,4.0,1.0,2027-03-01,10
2,north,8.0,1.0,2027-03-08,10
"""

EVERY_TABLE = """\
[tower]
name = "Every Table"
start = 2027-03-01
horizon_days = 400
levels = "levels.csv"
source = "invented for the tests"

[calendar.site]
week = { mon = ["07:00-12:00", "12:30-17:00"], sat = ["07:00-13:00"] }
closed = [2027-03-26, 2027-03-29]
closed_spans = [ { from = 2027-12-24, to = 2028-01-03 } ]
source = "common practice, no source"

[weather]
record = "weather.csv"
record_height_m = 10
utc_offset_h = -5
height_law = "en1991"
site_exposure = "IV"
missing_gust_factor = { value = 1.33, source = "a published ratio" }
generator = "blocks"
year_factor_sd = 0.04

[limit.panel_lift]
wind_above_m_s = 9.0
kind = "gust"
restart_min = 20
maker_limit_m_s = 9.8
source = "the maker"

[limit.frost]
temperature_below_degC = 5
source = "the maker of the seal"

[structure]
slip_days = { low = -0.5, likely = 0, high = 3, shape = "pert" }

[resource.gang]
count = 2
order = "first come"
[resource.floor_crane]
count = 2
[resource.hoist]
count = 2
[resource.bay]
count = 1

[storage]
slots_per_level = 12

[crane]
resource = "floor_crane"
set_up_min = 60
zone_move_min = 60
level_move_min = 180
per_level_min = 6
panels_per_position = 3
reposition_min = { low = 8, likely = 15, high = 30, shape = "triangular" }

[hoist]
resource = "hoist"
calendar = "site"
limits = ["panel_lift"]
load_min = { samples = "load.csv", column = "minutes", source = "measured" }
unload_min = 6
speed_m_s = 1.0
acceleration_m_s2 = 0.5
share = 0.4

[delivery]
calendar = "site"
crates_per_truck = 8
late_h = { low = 0, likely = 0, high = 72, shape = "pert" }
late_chance = 0.25
resource = "bay"
unload_min = 75

[family.flat]
column = "flat"
set_min = { p10 = 25, p50 = 40, p90 = 75 }
limits = ["panel_lift"]
crate_panels = 4

[trade.brackets]
kind = "gang"
column = "brackets"
unit_min = 9
learning = { rate = 0.95, plateau_fronts = 16 }
needs = { gang = 1 }
calendar = "site"
after = [ { on = "handover" } ]

[trade.panels]
kind = "panels"
families = ["flat"]
pace = { low = 0.9, likely = 1.0, high = 1.3, shape = "pert" }
needs = { gang = 1 }
calendar = "site"
after = [
    { on = "brackets" },
    { on = "handover", levels_up = 1 },
    { on = "panels", levels_up = -1 },
]

[trade.seal]
kind = "gang"
column = "seal"
unit_min = 5
needs = { gang = 1 }
calendar = "site"
limits = ["frost"]
outside = true
after = [ { on = "panels" } ]

[trade.boards]
kind = "gang"
column = "seal"
unit_min = 5
needs = { gang = 1 }
calendar = "site"
after = [ { on = "closing_in", lag_h = 24 } ]

[closing_in]
trades = ["panels", "seal"]
also_above = ["panels"]

[[correlation]]
trades = ["brackets", "panels", "seal"]
rho = 0.5

[contract.release]
level = 2
date = 2027-09-01
"""

EVERY_TABLE_LEVELS = """\
level,zone,height_m,difficulty,handover,delivery,flat,brackets,seal
1,north,4.0,1.0,2027-03-01,2027-03-03,8,10,20
1,south,4.0,1.2,2027-03-01,2027-03-04,6,10,20
2,north,8.0,1.0,2027-03-08,2027-03-10,8,10,20
2,south,8.0,1.2,2027-03-08,2027-03-11,6,10,20
3,north,12.5,1.0,2027-03-15,2027-03-17,8,10,20
3,south,12.5,1.2,2027-03-15,,0,10,20
"""

LOAD_SAMPLES = "crate,minutes\n1,3.5\n2,6\n3,5\n"
WEATHER = "valid,speed\n2013-01-01 00:51,8\n"


def write_one_trade(folder: Path) -> Path:
    """Write the scenario with one trade; returns the path of its file."""
    return _write(folder, {"scenario.toml": ONE_TRADE, "levels.csv": ONE_TRADE_LEVELS})


def write_every_table(folder: Path, *, toml: str = EVERY_TABLE, levels: str = EVERY_TABLE_LEVELS) -> Path:
    """Write the scenario with every table; returns the path of its file."""
    files = {"scenario.toml": toml, "levels.csv": levels, "load.csv": LOAD_SAMPLES, "weather.csv": WEATHER}
    return _write(folder, files)


def edited(text: str, old: str, new: str) -> str:
    """The text with one passage replaced, which must be there exactly once."""
    assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times in the text"
    return text.replace(old, new)


def tall_levels(*, levels: int, zones: str) -> str:
    """A level table of any size for the scenario with every table."""
    rows = ["level,zone,height_m,difficulty,handover,delivery,flat,brackets,seal"]
    rows += [
        f"{level},{zone},{4.0 * level},1.0,2027-04-{level % 28 + 1:02d},2027-04-29,12,10,20"
        for level in range(1, levels + 1)
        for zone in zones
    ]
    return "\n".join(rows) + "\n"


def _write(folder: Path, files: Mapping[str, str]) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in files.items():
        (folder / name).write_text(text, encoding="utf-8", newline="")
    return folder / "scenario.toml"
