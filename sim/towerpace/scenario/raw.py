"""Careful looks into a raw TOML tree.

What is of the wrong type is passed over here; that it is of the wrong type is found by the vocabulary.
"""

from collections.abc import Iterator, Mapping
from typing import Any, cast

from towerpace.scenario.complaints import Path
from towerpace.scenario.quantities import LARGEST

Tree = dict[str, Any]


class Guessed(float):
    """A number whose key was only guessed from a misspelt one: its unit may be another."""


def at(tree: object, path: Path) -> object:
    """What stands at a path, or None."""
    for part in path:
        in_table = isinstance(tree, Mapping) and part in tree
        in_list = isinstance(tree, list) and isinstance(part, int) and part < len(tree)
        if not (in_table or in_list):
            return None
        tree = cast(Any, tree)[part]
    return tree


def with_tuples(value: object) -> object:
    """The same tree with tuples for lists: what is checked can then not be changed."""
    if isinstance(value, dict):
        return {key: with_tuples(entry) for key, entry in value.items()}
    return tuple(with_tuples(entry) for entry in value) if isinstance(value, list) else value


def table(tree: object, *path: str | int) -> Tree:
    """The table at a path; empty when there is none."""
    value = at(tree, path)
    return value if isinstance(value, dict) else {}


def named(tree: Tree, group: str) -> Iterator[tuple[str, Tree]]:
    """Named tables of a group, as all of ``[trade.NAME]``, in file order."""
    for name, entry in table(tree, group).items():
        if isinstance(entry, dict):
            yield name, entry


def tables_in(tree: object, *path: str | int) -> Iterator[tuple[Path, Tree]]:
    """Tables of a list with their paths."""
    entries = at(tree, path)
    for number, entry in enumerate(entries if isinstance(entries, list) else []):
        if isinstance(entry, dict):
            yield (*path, number), entry


def texts_in(tree: object, *path: str | int) -> Iterator[tuple[Path, str]]:
    """Texts of a list with their paths."""
    entries = at(tree, path)
    for number, entry in enumerate(entries if isinstance(entries, list) else []):
        if isinstance(entry, str):
            yield (*path, number), entry


def text_at(tree: object, *path: str | int) -> str | None:
    """The text at a path, or None."""
    value = at(tree, path)
    return value if isinstance(value, str) else None


def number_at(tree: object, *path: str | int) -> float | None:
    """The number at a path, written plainly or with its source, or None."""
    value = at(tree, path)
    if isinstance(value, Mapping):
        value = value.get("value")
    good = isinstance(value, int | float) and not isinstance(value, bool | Guessed) and abs(value) <= LARGEST
    return float(cast(float, value)) if good else None


def has_panels(tree: Tree) -> bool:
    """Whether a trade of kind panels exists."""
    return any(trade.get("kind") == "panels" for _, trade in named(tree, "trade"))
