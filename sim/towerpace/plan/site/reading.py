"""What the writing of a plan reads of its scenario, noted, so that a later scenario can be held against it.

Steps and pools are written from a view of the scenario that notes whatever is read, with what was seen.
Minutes, dates, counts and chances are written as recipes, which read the scenario they are given, later and
unnoted. So a scenario in which all that was noted looks the same has the same steps: only its recipes need be
read again. Nobody has to say which keys are numbers: what the writing looks at is structure, because it
looked.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial
from types import FunctionType, MethodType
from typing import Generic, TypeVar, cast

from towerpace.scenario.fields import Table
from towerpace.scenario.schema import Settings

Source = TypeVar("Source")
Seen = TypeVar("Seen")
Path = tuple[str | int, ...]


class Reading(Generic[Source]):
    """Everything that was looked at, in the order in which it was.

    A question that was asked late may rest on the answers before it; they are asked again in the same order.
    """

    def __init__(self, source: Source, settings: Callable[[Source], Settings]) -> None:
        self._source, self._settings = source, settings
        self._notes: list[tuple[Callable[[Source], object], object]] = []
        self.settings = cast(Settings, _View(settings(source), (), self))

    def ask(self, question: Callable[[Source], Seen]) -> Seen:
        """The answer to a question about the scenario; it alone is noted, not what it was told from."""
        answer = question(self._source)
        self._notes.append((question, answer))
        return answer

    def holds_for(self, source: Source) -> bool:
        """Whether another scenario shows the same wherever one looked."""
        return all(_same(look(source), seen) for look, seen in self._notes)

    def note(self, path: Path, seen: object) -> None:
        """Note what stands under a path of the settings."""
        self._notes.append((partial(self._at, path), seen))

    def _at(self, path: Path, source: Source) -> object:
        node: object = self._settings(source)
        for part in path:
            # A path was walked before: each part is a name of a table, or a key of what is none; so is what
            # the ignored types cannot know.
            node = getattr(node, part) if isinstance(node, Table) else node[part]  # type: ignore[index, arg-type]
        return _shape(node)


def _shape(node: object) -> object:
    """What is noted of a value: of tables which they are, of lists and dictionaries how they are made up."""
    if isinstance(node, Table):
        return type(node)
    if isinstance(node, Mapping):
        return tuple(node)
    if isinstance(node, tuple):
        return len(node)
    return node


def _same(a: object, b: object) -> bool:
    return type(a) is type(b) and a == b


class _View:
    """A table of the scenario, with the same words, that notes what is read of it.

    What was read once is kept in the view's own dictionary, so it is read again at no cost.
    """

    def __init__(self, table: Table, path: Path, reading: Reading[Source]) -> None:
        self.__dict__["_of"] = (table, path, reading)

    def __getattr__(self, name: str) -> object:
        table, path, reading = self.__dict__["_of"]
        word = getattr(type(table), name, None)
        if isinstance(word, FunctionType):
            return MethodType(word, self)
        if isinstance(word, property):
            return word.__get__(self)
        seen = _viewed(getattr(table, name), (*path, name), reading)
        self.__dict__[name] = seen
        return seen

    @property  # type: ignore[misc]  # a class of its own for every instance
    def __class__(self) -> type:
        """Passes for the table it shows."""
        return type(self.__dict__["_of"][0])


def _viewed(value: object, path: Path, reading: Reading[Source]) -> object:
    reading.note(path, _shape(value))
    if isinstance(value, Table):
        return _View(value, path, reading)
    if isinstance(value, Mapping):
        return {key: _viewed(entry, (*path, key), reading) for key, entry in value.items()}
    if isinstance(value, tuple):
        return tuple(_viewed(entry, (*path, k), reading) for k, entry in enumerate(value))
    return value
