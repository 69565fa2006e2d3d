"""Rules on lost panels, moves of cranes and leave-outs: keys that go together, and numbers that cannot be."""

from collections.abc import Iterator

from towerpace.faults import Fault, nearest_word
from towerpace.scenario.complaints import MISSING, Complaint, Path, listed, shown
from towerpace.scenario.dates import panel_columns
from towerpace.scenario.levels import Levels
from towerpace.scenario.once import LEAVE_OUTS
from towerpace.scenario.raw import Tree, at, named, number_at, table, text_at, texts_in
from towerpace.scenario.schema.setting import LOSSES
from towerpace.scenario.tables import CsvTable

_SPREAD = "a number or a spread at least 0"
# What a number above 0 asks for.
_ASKS_FOR = (
    (LOSSES, "remake_days", _SPREAD),
    (("later_break_chance",), "later_found_days", _SPREAD),
    (("misfit_chance",), "misfit_min", _SPREAD),
    (("spares",), "spare_days", "a number at least 0"),
)


def panel_rules(tree: Tree) -> Iterator[Complaint]:
    """Complaints about keys of families, the crane and the leave-outs that others ask for or forbid."""
    for name, family in named(tree, "family"):
        for causes, key, words in _ASKS_FOR:
            stated = [cause for cause in causes if (number_at(family, cause) or 0) > 0]
            if stated and key not in family:
                yield Complaint(("family", name, key), MISSING, f"{words}, because {stated[0]} is above 0")
    yield from _crane_rules(table(tree, "crane"))
    yield from _spares_rules(tree)
    if LEAVE_OUTS in tree:
        trades = [name for name, trade in named(tree, "trade") if trade.get("kind") == "panels"]
        if len(trades) != 1:
            found = f"{len(trades)} trades of kind panels" if trades else "no trade of kind panels"
            yield Complaint((LEAVE_OUTS,), found, "leave_outs with exactly one trade of kind panels")


def _spares_rules(tree: Tree) -> Iterator[Complaint]:
    """Each trade counts the spares of its families from the first: two cannot draw on one stock."""
    owners: dict[str, str] = {}
    for name, trade in named(tree, "trade"):
        if trade.get("kind") != "panels":
            continue
        for path, family in texts_in(tree, "trade", name, "families"):
            owner = owners.setdefault(family, name)
            if owner != name and (number_at(table(tree, "family"), family, "spares") or 0) > 0:
                allowed = f"a family whose spares no other trade takes; {shown(owner)} takes these"
                yield Complaint(path, shown(family), allowed)


def _crane_rules(crane: Tree) -> Iterator[Complaint]:
    if crane.get("obstacles") and "obstacle_min" not in crane:
        yield Complaint(
            ("crane", "obstacle_min"), MISSING, "a number at least 0, because obstacles are given"
        )
    if "obstacle_min" in crane and not crane.get("obstacles"):
        found = shown(crane["obstacle_min"])
        yield Complaint(("crane", "obstacle_min"), found, "obstacle_min only with obstacles")
    resource = text_at(crane, "resource")
    if resource is not None and resource in table(crane, "level_move_needs"):
        path = ("crane", "level_move_needs", resource)
        yield Complaint(
            path, f"the floor crane {shown(resource)}", "what a move needs beside the crane itself"
        )


def panel_level_rules(tree: Tree, *, levels: Levels) -> Iterator[Complaint]:
    """Complaints about zones that the tower does not have."""
    obstacles = at(tree, ("crane", "obstacles"))
    for k in range(len(obstacles) if isinstance(obstacles, list) else 0):
        path: Path = ("crane", "obstacles", k)
        zones = [zone for _, zone in texts_in(tree, *path)]
        for place, zone in enumerate(zones):
            if zone not in levels.zones:
                nearest = nearest_word(zone, levels.zones)
                yield Complaint((*path, place), shown(zone), f"a zone: {listed(levels.zones)}", nearest)
        if len(zones) == 2 and zones[0] == zones[1]:
            yield Complaint(path, f"{shown(zones[0])} twice", "two zones")


def leave_out_faults(tree: Tree, *, table: CsvTable) -> Iterator[Fault]:
    """Rows that leave out more panels than they have."""
    column = text_at(tree, LEAVE_OUTS, "column")
    columns = panel_columns(tree)
    if column not in table.columns or any(name not in table.columns for name in columns):
        return
    for row in table.rows:
        left, panels = _count(row.cells[column]), sum(_count(row.cells[name]) for name in columns)
        if left > panels:
            yield Fault(table.file, row.line, column, str(left), f"at most {panels}, the panels of the row")


def _count(cell: str) -> int:
    return int(cell) if cell.isdigit() else 0
