"""A small site with something of everything that a site may report, and files as its foreman writes them."""

from __future__ import annotations

from datetime import date
from functools import lru_cache
from pathlib import Path
from tempfile import mkdtemp

from towerpace.answers.prepare import Prepared, prepare
from towerpace.draws import as_planned
from towerpace.engine.fastest import run
from towerpace.record.resolve import Past, resolve
from towerpace.record.site_record import SiteRecord, read_site_record
from towerpace.record.times import AsPlanned
from towerpace.scenario import load

START = date(2027, 3, 1)  # a Monday

BRACKETS = """
[resource.bracket_gang]
count = 1
[trade.brackets]
kind = "gang"
column = "brackets"
unit_min = 30
needs = { bracket_gang = 1 }
calendar = "site"
after = [{ on = "handover" }]
"""
MORE = f"""{BRACKETS}
[mock_up]
start = 2027-03-01
try_days = 1
pass_chance = 0.5
fix_days = 2
most_tries = 3

[activity.crown]
lift_min = 60
lifts = 4
calendar = "site"
after = [{{ on = "panels", level = "all" }}]

[[risk]]
name = "permit refused"
chance = 0.25
on = "crown"
delay_days = 7
"""

TOML = """\
[tower]
name = "Reporting site"
start = 2027-03-01
horizon_days = 200
levels = "levels.csv"
time_zone = "America/New_York"

[calendar.site]
week = { mon = ["07:00-17:00"], tue = ["07:00-17:00"], wed = ["07:00-17:00"], thu = ["07:00-17:00"], \
fri = ["07:00-17:00"] }

[structure]
slip_days = 0

[resource.gang]
count = 2
[resource.crane]
count = 2
[resource.hoist]
count = 1
[resource.bay]
count = 1

[storage]
slots_per_level = 20

[crane]
resource = "crane"
set_up_min = 60
zone_move_min = 30
level_move_min = 120
per_level_min = 0
panels_per_position = 3
reposition_min = 15

[hoist]
resource = "hoist"
calendar = "site"
limits = []
load_min = 3
unload_min = 3
speed_m_s = 1.0
acceleration_m_s2 = 1.0
share = 1.0
extension_levels = 2
extension_h = 4

[delivery]
calendar = "site"
crates_per_truck = 2
late_h = 0
late_chance = 0
resource = "bay"
unload_min = 30

[family.flat]
column = "flat"
set_min = 50
limits = []
crate_panels = 3
handling_break_chance = 0.1
remake_days = 20

[trade.panels]
kind = "panels"
families = ["flat"]
needs = { gang = 1 }
calendar = "site"
after = [{ on = "brackets" }, { on = "handover", levels_up = 1 }, { on = "panels", levels_up = -1 }]

[closing_in]
trades = ["panels"]
"""

LEVELS = "level,zone,height_m,difficulty,handover,delivery,flat,brackets\n" + "".join(
    f"{level},{zone},{4 * level},1.0,2027-03-{level:02d},2027-03-{level:02d},9,20\n"
    for level in range(1, 5)
    for zone in ("north", "east")
)


@lru_cache(maxsize=4)
def reporting_site(levels: str = LEVELS, more: str = MORE) -> Prepared:
    """The site: four levels of two zones, nine panels and twenty brackets a front."""
    folder = Path(mkdtemp())
    (folder / "scenario.toml").write_text(TOML + more, encoding="utf-8")
    (folder / "levels.csv").write_text(levels, encoding="utf-8")
    return prepare(load(folder / "scenario.toml"))


def recorded(
    folder: Path,
    sheet: str,
    *,
    log: str | None = None,
    wind: str | None = None,
    at: date | None = None,
    ready: Prepared | None = None,
) -> SiteRecord:
    """What a site has written: rows without the first line of each file, which stands here."""
    ready = ready or reporting_site()
    paths: dict[str, Path] = {}
    heads = {
        "progress": "date,what,level,zone,done,note",
        "log": "what,level,zone,panel,start,finish,unit,outcome,note",
    }
    for name, text in (("progress", sheet), ("log", log), ("wind", wind)):
        if text is not None:
            rows = [row.strip() for row in text.strip().splitlines()]
            paths[name] = folder / f"{name}.csv"
            head = [heads[name]] if name in heads else []
            paths[name].write_text("\n".join([*head, *rows]) + "\n", encoding="utf-8")
    return read_site_record(ready.scenario, ready.tower, at=at, **paths)


def faults_of(folder: Path, sheet: str, **files: object) -> list[str]:
    """What is wrong with some files, a line a fault: the name of the file and the text of the fault."""
    from towerpace.faults import InputError

    try:
        recorded(folder, sheet, **files)
    except InputError as error:
        return [f"{Path(fault.file).name} {fault.text()}" for fault in error.faults]
    return []


def as_planned_times(ready: Prepared) -> AsPlanned:
    """When every step begins and ends if all goes as planned."""
    weather = ready.chooser.weather
    hours = None if weather is None else weather.replayed(0)
    diary = run(ready.tower.plan, as_planned(ready.tower.plan, hours=hours))
    return AsPlanned(diary.started, diary.finished)


def resolved(
    folder: Path, sheet: str, *, log: str | None = None, ready: Prepared | None = None, at: date | None = None
) -> Past:
    """What the record says of the steps."""
    ready = ready or reporting_site()
    record = recorded(folder, sheet, log=log, ready=ready, at=at)
    return resolve(record, ready.tower, planned=as_planned_times(ready))
