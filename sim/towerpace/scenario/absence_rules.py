"""Rules on the days on which resources are there."""

import datetime as dt
from collections.abc import Iterator

from towerpace.scenario.complaints import Complaint, Path, dotted, shown
from towerpace.scenario.dates import before_start, day_at, start_of
from towerpace.scenario.raw import Tree, at, named, number_at, tables_in


def absence_rules(tree: Tree) -> Iterator[Complaint]:
    """Complaints about days before the start, days out of order, and days of more units than there are."""
    start = start_of(tree)
    paths: list[Path] = [("factory", "start")]
    for name, _ in named(tree, "resource"):
        whole: Path = ("resource", name)
        tables = [path for path, _ in tables_in(tree, *whole, "unit")]
        yield from _more_than_there_are(tree, name)
        for table in tables:
            yield from _never_there(tree, whole, table)
        for table in (whole, *tables):
            yield from _in_order(tree, table)
            paths += [(*table, "arrives"), (*table, "leaves")]
            paths += [(*path, "from") for path, _ in tables_in(tree, *table, "away")]
    for path in paths:
        day = day_at(tree, *path)
        if start is not None and day is not None and day < start:
            yield Complaint(path, shown(day), before_start(start))


def _more_than_there_are(tree: Tree, name: str) -> Iterator[Complaint]:
    """All tables of single units together say no more units than the resource has."""
    count, said = number_at(tree, "resource", name, "count"), 0.0
    for path, _ in tables_in(tree, "resource", name, "unit"):
        units = 1.0 if at(tree, (*path, "units")) is None else number_at(tree, *path, "units")
        if units is None or count is None:
            return
        said += units
        if units >= 1 and said > count >= 0:
            found = "1 unit" if said == 1 else f"{said:g} units with those before it"
            yield Complaint(path, found, f"at most resource.{name}.count, which is {count:g}")
            return


def _in_order(tree: Tree, table: Path) -> Iterator[Complaint]:
    """Arrives, then the spans one after the other, then leaves, as one table says them."""
    latest: tuple[dt.date, str] | None = None
    arrives = day_at(tree, *table, "arrives")
    if arrives is not None:
        latest = (arrives, "arrives")
    for path, _ in tables_in(tree, *table, "away"):
        first, last = day_at(tree, *path, "from"), day_at(tree, *path, "to")
        if first is not None and latest is not None and first <= latest[0]:
            yield Complaint((*path, "from"), shown(first), f"a date after {latest[1]}, which is {latest[0]}")
        if first is not None and last is not None and last < first:
            yield Complaint((*path, "to"), shown(last), f"a date on or after from, which is {first}")
        if last is not None:
            latest = (last, "the end of the absence before it")
    leaves = day_at(tree, *table, "leaves")
    if leaves is not None and latest is not None and leaves <= latest[0]:
        yield Complaint((*table, "leaves"), shown(leaves), f"a date after {latest[1]}, which is {latest[0]}")


def _never_there(tree: Tree, whole: Path, own: Path) -> Iterator[Complaint]:
    """Complaints about units that by a day of the resource and one of their own would never be there."""
    for word, other, after in (("arrives", "leaves", "before"), ("leaves", "arrives", "after")):
        mine, theirs = day_at(tree, *own, word), day_at(tree, *whole, other)
        if mine is None or theirs is None or at(tree, (*own, other)) is not None:
            continue
        if not (mine < theirs if after == "before" else mine > theirs):
            allowed = f"a date {after} {dotted((*whole, other))}, which is {theirs}"
            yield Complaint((*own, word), shown(mine), allowed)
