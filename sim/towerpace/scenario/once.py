"""What happens once in a raw scenario file: its names, and the names that it uses."""

from collections.abc import Iterator

from towerpace.scenario.complaints import Path
from towerpace.scenario.raw import Tree, named, table, tables_in, text_at, texts_in

MOCK_UP, WATER_TEST, LEAVE_OUTS = "mock_up", "water_test", "leave_outs"


def happens_once(tree: Tree) -> list[str]:
    """Names of what belongs to no level: the activities, and the mock-up where there is one."""
    return [*table(tree, "activity"), *([MOCK_UP] if MOCK_UP in tree else [])]


def by_level(tree: Tree) -> list[str]:
    """Names of the activities that go through the tower level by level."""
    return [name for name, activity in named(tree, "activity") if "levels" in activity]


def conditions_of_once(tree: Tree) -> Iterator[tuple[str, Path, Tree]]:
    """Every condition of an activity or the mock-up: whose it is, its path and itself."""
    for name, _ in named(tree, "activity"):
        for path, condition in tables_in(tree, "activity", name, "after"):
            yield name, path, condition
        cast = table(tree, "activity", name, "concrete", "cast")
        if cast:
            yield name, ("activity", name, "concrete", "cast"), cast
    for path, condition in tables_in(tree, MOCK_UP, "after"):
        yield MOCK_UP, path, condition


def calendars_of_once(tree: Tree) -> Iterator[tuple[Path, str]]:
    """Calendars that activities and the water test use."""
    paths: list[Path] = [("activity", name, "calendar") for name, _ in named(tree, "activity")]
    for path in (*paths, (WATER_TEST, "calendar")):
        name = text_at(tree, *path)
        if name is not None:
            yield path, name


def resources_of_once(tree: Tree) -> Iterator[tuple[Path, str]]:
    """Resources that activities and the water test need, remove or bring."""
    keys = ("needs", "removes", "brings")
    paths: list[Path] = [("activity", name, key) for name, _ in named(tree, "activity") for key in keys]
    for path in (*paths, (WATER_TEST, "needs")):
        for resource in table(tree, *path):
            yield (*path, resource), resource


def limits_of_once(tree: Tree) -> Iterator[tuple[Path, str]]:
    """Limits that activities, the water test and the drying of coats use."""
    yield from texts_in(tree, WATER_TEST, "limits")
    for name, _ in named(tree, "activity"):
        yield from texts_in(tree, "activity", name, "limits")
    for name, _ in named(tree, "trade"):
        yield from texts_in(tree, "trade", name, "drying_limits")
