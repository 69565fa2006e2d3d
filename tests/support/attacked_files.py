"""Good files of a small site, to be attacked: its study, sheet, log, wind, dates, promises and forecast."""

from __future__ import annotations

from pathlib import Path

from support.site_record import LEVELS, MORE, TOML
from support.wharf_in_small import RECORD

WEATHER = f"""
[weather]
record = "{RECORD.as_posix()}"
record_height_m = 10
utc_offset_h = -5
height_law = "en1991"
site_exposure = "III"
missing_gust_factor = 1.3
generator = "replay"
"""

STUDY = """[study]
name = "attacked"
scenario = "scenario.toml"
responses = ["finish.p80", "finish.mean"]
trials = 2
seed = 1
design = "grid"
keep_trials = true

[factor.gangs]
key = "resource.gang.count"
values = [1, 2]

[factor.share]
key = "hoist.share"
values = [0.5, 1.0]
"""
SHEET = """date,what,level,zone,done,note
2027-03-05,brackets,1,north,all,
2027-03-05,panels,1,north,4,"a note, with a comma"
2027-03-12,panels,1,north,9,
2027-03-12,brackets,1,east,all,
2027-03-12,brackets,2,north,50%,
2027-03-12,holes,1,north,1,
2027-03-12,mock_up,,,passed,
"""
LOG = """what,level,zone,panel,start,finish,unit,outcome,note
panels,1,north,1,2027-03-04T09:00,2027-03-04T10:00,,set,
panels,1,north,2,2027-03-04T10:10,2027-03-04T11:05,,set,
brackets,1,north,,2027-03-01T07:00,2027-03-01T17:00,,,
"""
WIND = "time,wind_speed_10m_m_s,wind_gust_10m_m_s\n" + "".join(
    f"2027-03-{day:02d}T{hour:02d}:00,{hour % 7},{hour % 7 + 3}\n"
    for day in range(1, 13)
    for hour in range(24)
)
DATES = "what,level,zone,done\nfinish,,,2027-06-01\npanels,1,north,2027-03-20\nbrackets,2,,2027-03-25\n"
PROMISES = """id,made,what,level,zone,done,by,who,reason
1,2027-03-08,panels,1,north,all,2027-03-11,"gang, the first",
2,2027-03-10,brackets,2,north,all,2027-03-16,gang,no brackets
3,2027-03-12,panels,2,east,4,2027-03-24,=gang,
4,2027-03-12,handover,3,,yes,2027-03-19,,
"""
FORECAST = "time,wind_speed_10m_m_s,wind_gust_10m_m_s,issued,member\n" + "".join(
    f"2027-03-{day:02d}T{hour:02d}:00,{hour % 9 + member},{hour % 9 + member + 3},2027-03-13T00:00,{member}\n"
    for member in (1, 2)
    for day in range(13, 16)
    for hour in range(24)
)


def write_site(folder: Path) -> Path:
    """A small site's scenario and levels; the scenario's path."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "levels.csv").write_text(LEVELS, encoding="utf-8")
    (folder / "scenario.toml").write_text(TOML + MORE + WEATHER, encoding="utf-8")
    return folder / "scenario.toml"


def write_record(folder: Path) -> dict[str, Path]:
    """What the site has written down: its sheet, log and wind, what was promised and a forecast."""
    texts = {"progress": SHEET, "log": LOG, "wind": WIND, "promises": PROMISES, "weather": FORECAST}
    for name, text in texts.items():
        (folder / f"{name}.csv").write_text(text, encoding="utf-8")
    return {name: folder / f"{name}.csv" for name in texts}
