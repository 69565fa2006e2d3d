"""A tower low enough for commands in tests: the first levels of the teaching scenario with one slow hoist."""

from __future__ import annotations

from pathlib import Path

ONE_HOIST = Path(__file__).parents[2] / "scenarios" / "one_hoist"
COSTS = {
    "[resource.hoist]\n": "[resource.hoist]\ncost_per_day = 1500\ncost_mobilise = 4000\n",
    "[resource.floor_crane]\n": "[resource.floor_crane]\ncost_per_day = 900\n",
    "[structure]\n": '[cost]\nunit = "crowns"\nsite_overhead_per_day = 9000\n[structure]\n',
}

TOO_SHORT = {"horizon_days = 200": "horizon_days = 11", "date = 2027-03-25": "date = 2027-03-10"}


def write_short_tower(folder: Path, *, levels: int = 2, replace: dict[str, str] | None = None) -> Path:
    """The scenario file; replace : parts of its text, each of which must be there."""
    text = (ONE_HOIST / "scenario.toml").read_text(encoding="utf-8")
    for old, new in (replace or {}).items():
        assert old in text, old
        text = text.replace(old, new)
    rows = (ONE_HOIST / "levels.csv").read_text(encoding="utf-8").splitlines()
    kept = [row for row in rows[1:] if int(row.split(",")[0]) <= levels]
    (folder / "levels.csv").write_text("\n".join([rows[0], *kept, ""]), encoding="utf-8")
    (folder / "scenario.toml").write_text(text, encoding="utf-8")
    return folder / "scenario.toml"
