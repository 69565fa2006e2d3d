"""Rules on the faces of the tower, and on limits that look at them."""

from collections.abc import Iterator

from towerpace.faults import nearest_word
from towerpace.scenario.complaints import MISSING, Complaint, listed, shown
from towerpace.scenario.levels import Levels
from towerpace.scenario.raw import Tree, named, table

_KEYS = ("face_sector_deg", "lee_factor")


def face_rules(tree: Tree) -> Iterator[Complaint]:
    """Complaints about limits by face: keys that go together, and faces that nobody states."""
    for name, limit in named(tree, "limit"):
        stated = [key for key in _KEYS if key in limit]
        for key in _KEYS if stated else ():
            if key not in limit:
                yield Complaint(("limit", name, key), MISSING, f"{key} beside {stated[0]}")
            elif "wind_above_m_s" not in limit:
                found = shown(limit[key])
                yield Complaint(("limit", name, key), found, f"{key} only with wind_above_m_s")
        if "face_sector_deg" in limit and not table(tree, "zone"):
            allowed = f"tables [zone.NAME] with facing_deg, because limit.{name} looks at faces"
            yield Complaint(("zone",), MISSING, allowed)


def face_level_rules(tree: Tree, *, levels: Levels) -> Iterator[Complaint]:
    """Complaints about zones that the level table does not have."""
    for zone, _ in named(tree, "zone"):
        if zone not in levels.zones:
            nearest = nearest_word(zone, levels.zones)
            allowed = f"a zone of the level table: {listed(levels.zones)}"
            yield Complaint(("zone", zone), shown(zone), allowed, nearest)
