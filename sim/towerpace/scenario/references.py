"""Rules on names: every name that is used must be defined."""

from collections.abc import Iterator

from towerpace.scenario.complaints import MISSING, Complaint, Path, dotted, listed, shown, unknown_name
from towerpace.scenario.once import (
    LEAVE_OUTS,
    WATER_TEST,
    by_level,
    calendars_of_once,
    happens_once,
    limits_of_once,
    resources_of_once,
)
from towerpace.scenario.raw import Tree, named, number_at, table, tables_in, text_at, texts_in

MILESTONES = ("handover", "closing_in")
OF_FRONTS = ("closing_in", WATER_TEST, LEAVE_OUTS)  # what only exists where the file has its table
_REQUIRED = ("calendar", "resource", "trade")  # a file without them is told so in any case
PANEL_TABLES = ("crane", "hoist", "delivery")


def reference_rules(tree: Tree) -> Iterator[Complaint]:
    """Complaints about names that nothing defines, and about tables that something else needs."""
    for group, uses in (
        ("calendar", _calendar_uses(tree)),
        ("resource", _resource_uses(tree)),
        ("limit", limit_uses(tree)),
        ("family", _family_uses(tree)),
        ("trade", _trade_uses(tree)),
    ):
        names = list(table(tree, group))
        if group == "limit" and "weather" not in tree:
            yield from _missing_tables(uses, what="weather", needed="a table [weather]")
        elif not names:
            yield from _missing_tables(uses, what=group, needed=f"tables [{group}.NAME]")
        else:
            yield from (unknown_name(path, name, names=names) for path, name in uses if name not in names)
    yield from _condition_rules(tree)
    yield from _need_rules(tree)


def limit_uses(tree: Tree) -> Iterator[tuple[Path, str]]:
    """Every use of a limit, with its path."""
    yield from texts_in(tree, "hoist", "limits")
    yield from limits_of_once(tree)
    for group in ("family", "method", "trade"):
        for name, _ in named(tree, group):
            yield from texts_in(tree, group, name, "limits")


def _calendar_uses(tree: Tree) -> Iterator[tuple[Path, str]]:
    paths: list[Path] = [
        (group, name, "calendar") for group in ("trade", "method") for name, _ in named(tree, group)
    ]
    paths += [("hoist", "calendar"), ("hoist", "night"), ("delivery", "calendar"), ("structure", "calendar")]
    yield from _single_uses(tree, paths)
    yield from calendars_of_once(tree)


def _resource_uses(tree: Tree) -> Iterator[tuple[Path, str]]:
    yield from _single_uses(tree, [(name, "resource") for name in PANEL_TABLES])
    for group in ("trade", "method"):
        for name, _ in named(tree, group):
            for resource in table(tree, group, name, "needs"):
                yield (group, name, "needs", resource), resource
    for resource in table(tree, "delivery", "unload_needs"):
        yield ("delivery", "unload_needs", resource), resource
    for resource in table(tree, "crane", "level_move_needs"):
        yield ("crane", "level_move_needs", resource), resource
    yield from resources_of_once(tree)


def _family_uses(tree: Tree) -> Iterator[tuple[Path, str]]:
    for trade, _ in named(tree, "trade"):
        yield from texts_in(tree, "trade", trade, "families")


def _trade_uses(tree: Tree) -> Iterator[tuple[Path, str]]:
    yield from texts_in(tree, "closing_in", "trades")
    yield from texts_in(tree, "closing_in", "also_above")
    for path, _ in tables_in(tree, "correlation"):
        yield from texts_in(tree, *path, "trades")


def _single_uses(tree: Tree, paths: list[Path]) -> Iterator[tuple[Path, str]]:
    for path in paths:
        name = text_at(tree, *path)
        if name is not None:
            yield path, name


def _missing_tables(uses: Iterator[tuple[Path, str]], *, what: str, needed: str) -> Iterator[Complaint]:
    """One complaint where all names of a group are wanted and none is there; what must be is told anyway."""
    first = next(uses, None)
    if first is not None and what not in _REQUIRED:
        path, name = first
        yield Complaint((what,), MISSING, f"{needed}, because {dotted(path)} names {shown(name)}")


def _condition_rules(tree: Tree) -> Iterator[Complaint]:
    for trade in table(tree, "trade"):
        if trade in MILESTONES:
            yield Complaint(("trade", trade), "a trade of this name", f"any name but {listed(MILESTONES)}")
    for path, condition in front_conditions(tree):
        yield from condition_complaints(tree, condition, path=path)


def front_conditions(tree: Tree) -> Iterator[tuple[Path, Tree]]:
    """Conditions for the start of a front, with their paths: of trades, methods, the test and leave-outs."""
    for group in ("trade", "method"):
        for name in table(tree, group):
            yield from tables_in(tree, group, name, "after")
    yield from tables_in(tree, WATER_TEST, "after")
    yield from tables_in(tree, LEAVE_OUTS, "after")


def condition_complaints(tree: Tree, condition: Tree, *, path: Path) -> Iterator[Complaint]:
    """Complaints about one condition for the start of a front: its name, and keys that do not go with it."""
    on, trades, once = text_at(condition, "on"), list(table(tree, "trade")), happens_once(tree)
    tests = [name for name in (WATER_TEST, LEAVE_OUTS) if name in tree]
    if on in OF_FRONTS and on not in tree:
        allowed = f"{on} only with a table [{on}]"
        yield Complaint((*path, "on"), shown(on), allowed, cause=allowed)
    elif on is not None and on not in (*MILESTONES, *tests, *once, *trades):
        yield unknown_name((*path, "on"), on, names=[*MILESTONES, *tests, *once, *trades])
    elif on in (*MILESTONES, *by_level(tree)):
        if "zones" in condition:
            yield Complaint((*path, "zones"), shown(condition["zones"]), f"no zones, {on} is a whole level")
    elif on in once:
        for key in ("levels_up", "zones"):
            if key in condition:
                yield Complaint((*path, key), shown(condition[key]), f"no {key}, {on} happens once")


def _need_rules(tree: Tree) -> Iterator[Complaint]:
    """A step that needs more units than exist would wait for ever."""
    needs: list[tuple[Path, str, float | None]] = [
        ((name, "resource"), text_at(tree, name, "resource") or "", 1.0) for name in PANEL_TABLES
    ]
    for path, resource in _resource_uses(tree):
        if path[-2] in ("needs", "removes", "brings", "unload_needs", "level_move_needs"):
            needs.append((path, resource, number_at(tree, *path)))
    for path, resource, quantity in needs:
        count = number_at(tree, "resource", resource, "count")
        if quantity is not None and count is not None and 0 <= count < quantity:
            wanted = f"{quantity:g} of {shown(resource)}"
            yield Complaint(path, wanted, f"at most resource.{resource}.count, which is {count:g}")
