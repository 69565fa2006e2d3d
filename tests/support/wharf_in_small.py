"""The demo cut down to a few levels and two faces, and changes of nearly every key of the schema."""

from __future__ import annotations

import random
import tomllib
from collections.abc import Iterator, Mapping
from datetime import date, timedelta
from pathlib import Path

from towerpace.scenario.complaints import dotted

DEMO = Path(__file__).parents[2] / "scenarios" / "gannet_wharf"
RECORD = DEMO.parent / "weather" / "laguardia_2013_hourly.csv"
ZONES = ("north", "east")
LEVELS = 4
REPLACED = {
    "level = 34": "level = 4",
    "level = 33": "level = 3",
    "levels = [34, 1]": "levels = [4, 1]",
    "levels = [33, 1]": "levels = [3, 1]",
    "level = 30": "level = 3",
    "\nlevel = 20": "\nlevel = 2",
    "horizon_days = 1000": "horizon_days = 640",
    ', ["south", "west"]': "",
    "../weather/laguardia_2013_hourly.csv": RECORD.as_posix(),
    "stock_panels = 240": "stock_panels = 12",
}
# What the demo leaves unsaid, each table in a form that goes with the others.
OTHER_WAYS: Mapping[str, object] = {
    "delivery.order": "call-off",
    "delivery.levels_ahead": 1,
    "delivery.lead_days": {"low": 2, "likely": 4, "high": 9, "shape": "triangular"},
    "delivery.accept_early": False,
    "delivery.back_days": 2,
    "delivery.turn_away_h": 5.0,
    "delivery.turned_away_at_most": 2,
    "hoist.night": "crane",
    "structure.calendar": "site",
    "level": {
        "2": {"handover": date(2027, 3, 29), "delivery": 2, "difficulty": 1.2, "counts": {"brackets": 30}},
        "from 3": {"slip_days": 1, "zone": {"east": {"delivery": 3, "difficulty": 1.1, "method": "hook"}}},
    },
    "calendar.setting.dated": [
        {
            "from": date(2027, 4, 5),
            "to": date(2027, 6, 12),
            "week": {"sat": ["08:00-12:30", "13:00-16:15"], "fri": []},
            "premium_per_hour": 0.4,
            "fatigue": {"low": 1, "likely": 1.1, "high": 1.3, "shape": "pert"},
            "source": "invented for the tests",
        }
    ],
    "hoist.empties_ride_min": {"low": 1, "likely": 2, "high": 5, "shape": "pert"},
    "crane.drop_zone": 1,
    "resource.test_crew.order": "first come",
    "resource.panel_gang.arrives": date(2027, 3, 8),
    "resource.framing_pair.leaves": date(2029, 3, 8),
    "resource.panel_gang.away": [{"from": date(2027, 6, 7), "to": date(2027, 6, 11)}],
    "resource.floor_crane.unit": [
        {
            "units": 1,
            "arrives": date(2027, 3, 22),
            "leaves": date(2028, 2, 1),
            "away": [{"from": date(2027, 5, 3), "to": date(2027, 5, 7)}],
        }
    ],
    "resource.hoist.breakdown.swap_h": {"low": 10, "likely": 20, "high": 40, "shape": "pert"},
    "limit.crown_lift.height_m": 20.0,
    "limit.flat_lift.face_sector_deg": 100.0,
    "limit.flat_lift.lee_factor": 0.6,
    "zone.north.facing_deg": 350.0,
    "limit.heat.temperature_above_degC": 31,
    "limit.heat.source": "invented for the tests",
    "trade.joints.drying_limits": ["cold_joints"],
    "trade.panels.hole": "hold",
    "trade.panels.returns": {"most": 2, "days": 10.0, "visits": 2},
    "trade.panels.learning": {"rate": 0.95, "plateau_fronts": 5, "reset": "difficulty"},
    "trade.panels.long_shift": {"after_h": 5.0, "loss": 0.3},
    "trade.seal.outside": True,
    "trade.framing.column": None,
    "trade.framing.unit_min": None,
    "trade.framing.classes": {
        "flat": {"column": "lining_m2", "unit_min": {"low": 4, "likely": 6, "high": 9, "shape": "pert"}},
        "round": {"column": "brackets", "unit_min": 5},
    },
    "activity.snag.not_before": date(2027, 8, 2),
    "activity.snag.limits": ["heat"],
    "leave_outs.order": "up",
    "leave_outs.crane": False,
    "family.corner.method": "hands",
    "method.hands": {
        "inside": True,
        "set_factor": 1.2,
        "set_up_min": {"low": 5, "likely": 10, "high": 30, "shape": "pert"},
        "panels_per_position": 1,
        "reposition_min": {"low": 2, "likely": 5, "high": 15, "shape": "pert"},
        "sets_again": False,
    },
    "policy.rank": "most urgent",
    "factory.stock_waits": True,
}


def write(folder: Path) -> Path:
    """The scenario file of the small demo."""
    folder.mkdir(parents=True, exist_ok=True)
    text = (DEMO / "scenario.toml").read_text(encoding="utf-8")
    for old, new in REPLACED.items():
        assert old in text, old
        text = text.replace(old, new)
    header, *rows = (DEMO / "levels.csv").read_text(encoding="utf-8").splitlines()
    kept = [row for row in rows if int(row.split(",")[0]) <= LEVELS and row.split(",")[1] in ZONES]
    (folder / "levels.csv").write_text("\n".join([header, *kept, ""]), encoding="utf-8")
    path = folder / "scenario.toml"
    path.write_text(text, encoding="utf-8")
    return path


def keys_of(tree: object, path: tuple[str | int, ...] = ()) -> Iterator[tuple[str, object]]:
    """Every value of a scenario file that stands alone, and every spread as a whole, by dotted key."""
    entries: Iterator[tuple[str | int, object]] = iter(())
    if isinstance(tree, Mapping):
        if path and {"low", "value", "samples", "p10"} & set(tree):
            yield dotted(path), tree
            return
        entries = ((key, entry) for key, entry in tree.items() if key not in ("note", "source"))
    elif isinstance(tree, list):
        yield dotted(path), tree
        entries = iter(enumerate(tree))
    elif path:
        yield dotted(path), tree
    for key, entry in entries:
        if path or key not in ("setup", "candidate"):
            yield from keys_of(entry, (*path, key))


def tree_of(path: Path, changes: Mapping[str, object]) -> dict[str, object]:
    """The tree of a scenario file with changes laid over it, to look for keys in."""
    from towerpace.scenario.changes import apply_changes

    tree = tomllib.loads(path.read_text(encoding="utf-8"))
    apply_changes(tree, changes)
    return tree


def other_value(value: object, *, words: list[str], rng: random.Random) -> object:
    """A value of the same kind that is not the same; much of what it gives is refused when loaded."""
    if rng.random() < 0.08:
        return None
    scale = rng.choice([0.5, 0.93, 1.08, 1.7])
    match value:
        case bool():
            other: object = not value
        case int():
            other = max(value + rng.choice([-2, -1, 1, 2]), 0)
        case float():
            other = value * scale
        case date():
            other = value + timedelta(days=rng.choice([-9, -1, 1, 3, 40]))
        case str():
            other = rng.choice(words)
        case list():
            other = value[:-1]
        case Mapping():
            other = {k: v * scale if isinstance(v, int | float) else v for k, v in value.items()}
        case _:
            other = value
    return other
