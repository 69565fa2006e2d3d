"""Rules on ways of lifting panels: names that are defined, keys that go together, what each way asks for."""

from collections.abc import Iterator

from towerpace.faults import Fault, nearest_word
from towerpace.scenario.complaints import MISSING, Complaint, Path, listed, shown, unknown_name
from towerpace.scenario.levels import METHOD
from towerpace.scenario.once import LEAVE_OUTS
from towerpace.scenario.raw import Tree, has_panels, named, table, text_at, texts_in
from towerpace.scenario.schema import FLOOR_CRANE
from towerpace.scenario.tables import CsvTable

# Keys of a method that say something only beside another.
_ONLY_WITH = (
    ("panels_per_position", "reposition_min"),
    ("reposition_min", "panels_per_position"),
)


def method_rules(tree: Tree) -> Iterator[Complaint]:
    """Complaints about ways of lifting panels, and about tables that those in use ask for."""
    names = [*table(tree, METHOD), FLOOR_CRANE]
    for path, name in _uses(tree):
        if name not in names:
            yield unknown_name(path, name, names=names)
    for name, method in named(tree, METHOD):
        yield from _key_rules(tree, method, path=(METHOD, name))
        if name == FLOOR_CRANE:
            allowed = f'any name but "{FLOOR_CRANE}", which stands for the floor cranes of [crane]'
            yield Complaint((METHOD, name), "a method of this name", allowed)
    yield from _gathered_rules(tree)
    if has_panels(tree):
        yield from _table_rules(tree)


def method_faults(tree: Tree, *, table: CsvTable) -> Iterator[Fault]:
    """Rows that name a way of lifting which the scenario does not have."""
    names = [*named_methods(tree), *([FLOOR_CRANE] if "crane" in tree else [])]
    for row in table.rows:
        name = row.cells.get(METHOD)
        if name and name not in names:
            allowed = f"a table of [method.NAME]: {listed(names)}" if names else "a table [method.NAME]"
            yield Fault(table.file, row.line, METHOD, shown(name), allowed, nearest_word(name, names))
        elif name and "hoist" not in tree and _asks_for_hoist(tree, name):
            allowed = "a method with straight = true, or a table [hoist]"
            yield Fault(table.file, row.line, METHOD, shown(name), allowed)


def named_methods(tree: Tree) -> list[str]:
    """Names of the tables of methods."""
    return [name for name, _ in named(tree, METHOD)]


def methods_of(tree: Tree, trade: str) -> list[str]:
    """Ways that a panel trade and its families name, each once; those of the level table not."""
    own = text_at(tree, "trade", trade, METHOD) or FLOOR_CRANE
    families = [family for _, family in texts_in(tree, "trade", trade, "families")]
    return list(dict.fromkeys(text_at(tree, "family", family, METHOD) or own for family in families))


def _uses(tree: Tree) -> Iterator[tuple[Path, str]]:
    for group in ("trade", "family"):
        for name, entry in named(tree, group):
            method = text_at(entry, METHOD)
            if method is not None:
                yield (group, name, METHOD), method


def _key_rules(tree: Tree, method: Tree, *, path: Path) -> Iterator[Complaint]:
    for key, other in _ONLY_WITH:
        if key in method and other not in method:
            yield Complaint((*path, other), MISSING, f"{other} beside {key}")
    if "ground_crates" in method and method.get("straight") is not True:
        allowed = "ground_crates only with straight = true"
        yield Complaint((*path, "ground_crates"), shown(method["ground_crates"]), allowed)
    if text_at(method, "kept") in ("panel", "strip") and not table(method, "needs"):
        yield Complaint((*path, "kept"), shown(method["kept"]), "kept only with needs: what is kept")
    crane = text_at(tree, "crane", "resource")
    if crane is not None and crane in table(method, "needs"):
        found = f"the floor crane {shown(crane)}"
        yield Complaint((*path, "needs", crane), found, "no floor crane: it stands on fronts")


def _gathered_rules(tree: Tree) -> Iterator[Complaint]:
    """Return visits for which new panels are gathered go along a level with a floor crane."""
    for trade, entry in named(tree, "trade"):
        if "returns" not in entry:
            continue
        for name in named_methods(tree):
            if table(tree, METHOD, name).get("sets_again", True) is True:
                allowed = f"sets_again = false, because trade.{trade}.returns gathers visits of a floor crane"
                yield Complaint((METHOD, name, "sets_again"), "true", allowed)


def _table_rules(tree: Tree) -> Iterator[Complaint]:
    """A floor crane and a hoist where a panel may ask for one; trucks in any case."""
    because = {"delivery": "a trade of kind panels needs it"}
    if (why := _asks_for_crane(tree)) is not None:
        because["crane"] = because["hoist"] = why
    for name in _used(tree):
        if _asks_for_hoist(tree, name):
            because.setdefault("hoist", f"method.{name} lifts from the floor and not straight from the truck")
    for name in ("crane", "hoist", "delivery"):
        if name in because and name not in tree:
            yield Complaint((name,), MISSING, f"a table [{name}], because {because[name]}")


def _used(tree: Tree) -> list[str]:
    """Ways that the file names, each once; those of the level table itself are told by its rows."""
    panel_trades = [name for name, trade in named(tree, "trade") if trade.get("kind") == "panels"]
    names = [name for trade in panel_trades for name in methods_of(tree, trade)]
    for _, level in named(tree, "level"):
        own = (text_at(entry, METHOD) for entry in (level, *(zone for _, zone in named(level, "zone"))))
        names += [name for name in own if name is not None]
    return list(dict.fromkeys(names))


def _asks_for_crane(tree: Tree) -> str | None:
    """Why a floor crane is needed; None if it is not."""
    used = _used(tree)
    if FLOOR_CRANE in used:
        return "a trade of kind panels needs it"
    if LEAVE_OUTS in tree and table(tree, LEAVE_OUTS).get("crane") is True:
        return "leave_outs.crane is true"
    again = [name for name in used if table(tree, METHOD, name).get("sets_again") is False]
    return f"method.{again[0]}.sets_again is false" if again else None


def _asks_for_hoist(tree: Tree, name: str) -> bool:
    return table(tree, METHOD, name).get("straight") is not True
