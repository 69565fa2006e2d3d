"""Rules on the days on which resources are there."""

import datetime as dt
from collections.abc import Iterator

from towerpace.scenario.complaints import Complaint, Path, shown
from towerpace.scenario.dates import before_start, day_at, start_of
from towerpace.scenario.raw import Tree, named, tables_in


def absence_rules(tree: Tree) -> Iterator[Complaint]:
    """Complaints about days before the start and about days out of order."""
    start = start_of(tree)
    paths: list[Path] = [("factory", "start")]
    for name, _ in named(tree, "resource"):
        yield from _resource_rules(tree, name)
        paths += [("resource", name, "arrives"), ("resource", name, "leaves")]
        paths += [(*path, "from") for path, _ in tables_in(tree, "resource", name, "away")]
    for path in paths:
        day = day_at(tree, *path)
        if start is not None and day is not None and day < start:
            yield Complaint(path, shown(day), before_start(start))


def _resource_rules(tree: Tree, name: str) -> Iterator[Complaint]:
    """Arrives, then the spans one after the other, then leaves."""
    latest: tuple[dt.date, str] | None = None
    arrives = day_at(tree, "resource", name, "arrives")
    if arrives is not None:
        latest = (arrives, "arrives")
    for path, _ in tables_in(tree, "resource", name, "away"):
        first, last = day_at(tree, *path, "from"), day_at(tree, *path, "to")
        if first is not None and latest is not None and first <= latest[0]:
            yield Complaint((*path, "from"), shown(first), f"a date after {latest[1]}, which is {latest[0]}")
        if first is not None and last is not None and last < first:
            yield Complaint((*path, "to"), shown(last), f"a date on or after from, which is {first}")
        if last is not None:
            latest = (last, "the end of the absence before it")
    leaves = day_at(tree, "resource", name, "leaves")
    if leaves is not None and latest is not None and leaves <= latest[0]:
        path = ("resource", name, "leaves")
        yield Complaint(path, shown(leaves), f"a date after {latest[1]}, which is {latest[0]}")
