"""Two trades of twenty days each on one floor, day and night, and ten days of work that wait for both."""

from __future__ import annotations

import csv
from collections.abc import Iterable
from datetime import date, timedelta
from pathlib import Path

START = date(2027, 1, 1)
DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
WEEK = ", ".join(f'{day} = ["00:00-24:00"]' for day in DAYS)
EVENT_HEAD = "id,what,level,zone,from,to,effect,owner,note"
LOG_HEAD = "what,level,zone,panel,start,finish"
SHEET_HEAD = "date,what,level,zone,done"


def write_chains(folder: Path, *, glass_days: int = 20, spread: str = "") -> Path:
    """The scenario file. spread : minutes of a floor of either trade; certain if left out."""
    text = [
        '[tower]\nname = "Two chains"\nstart = 2027-01-01\nhorizon_days = 300\nlevels = "levels.csv"',
        f"[calendar.always]\nweek = {{ {WEEK} }}",
        "[structure]\nslip_days = 0",
        *(f"[resource.{name}]\ncount = 1" for name in ("carpenters", "glaziers", "sweepers")),
        _trade("lining", "carpenters", minutes=spread or "28800", after='{ on = "handover" }'),
        _trade("glass", "glaziers", minutes=spread or f"{glass_days * 1440}", after='{ on = "handover" }'),
        _trade("clean", "sweepers", minutes="14400", after='{ on = "lining" }, { on = "glass" }'),
    ]
    (folder / "scenario.toml").write_text("\n\n".join(text) + "\n", encoding="utf-8")
    head = "level,zone,height_m,difficulty,handover,floors"
    (folder / "levels.csv").write_text(f"{head}\n1,all,3,1,2027-01-01,1\n", encoding="utf-8")
    return folder / "scenario.toml"


def _trade(name: str, gang: str, *, minutes: str, after: str) -> str:
    return (
        f'[trade.{name}]\nkind = "gang"\ncolumn = "floors"\nunit_min = {minutes}\n'
        f'needs = {{ {gang} = 1 }}\ncalendar = "always"\nafter = [{after}]'
    )


def day(number: int) -> date:
    """A day of the site, 0 the first."""
    return START + timedelta(number)


def moment(number: float) -> str:
    """The moment so many days after the first midnight."""
    minutes = round(number * 1440)
    return f"{START + timedelta(minutes // 1440)}T{minutes % 1440 // 60:02d}:{minutes % 60:02d}"


def write_rows(path: Path, head: str, rows: Iterable[Iterable[object]]) -> Path:
    """A CSV file."""
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(head.split(","))
        writer.writerows(rows)
    return path
