"""The short tower with prices and three decisions and a candidate: small enough to be searched in tests."""

from __future__ import annotations

from pathlib import Path

from support.short_tower import COSTS, write_short_tower

GANGS = {
    "[resource.panel_gang]\n": "[resource.panel_gang]\ncost_per_day = 800\ncost_mobilise = 16000\n",
}
DAY_OF_SITE = {"site_overhead_per_day = 9000": "site_overhead_per_day = 4000"}
DECISIONS = """
[decision.crews]
keys = ["resource.panel_gang.count", "resource.floor_crane.count"]
from = 1
to = 3
step = 1

[decision.hoists]
key = "resource.hoist.count"
values = [2, 3]

[decision.slots]
key = "storage.slots_per_level"
values = [48]
when = { hoists = [2, 3] }

[candidate.early_hoisting]
calendar.site.week.mon = ["06:00-12:00", "12:30-17:00"]
"""
FEWER = {"from = 1\nto = 3\nstep = 1": "values = [1, 2]", "values = [48]\n": "values = [24]\n"}  # 12 set-ups


def write_open_tower(folder: Path, *, more: str = "", replace: dict[str, str] | None = None) -> Path:
    """The scenario file of two levels; 30 set-ups are open."""
    path = write_short_tower(folder, levels=2, replace={**COSTS, **GANGS})
    text = path.read_text(encoding="utf-8") + DECISIONS + more
    for old, new in {**DAY_OF_SITE, **(replace or {})}.items():
        assert old in text, old
        text = text.replace(old, new)
    path.write_text(text, encoding="utf-8")
    return path
