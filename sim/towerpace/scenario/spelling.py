"""Misspelt keys of a raw scenario file: each is told once, and read on as the nearest key of its table.

Without this a misspelt [calender.site] would be told again wherever a trade names its calendar.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Any, get_args, get_origin

from pydantic import BaseModel

from towerpace.faults import nearest_word
from towerpace.scenario.complaints import Complaint, Path, unknown_key
from towerpace.scenario.raw import Guessed, Tree
from towerpace.scenario.words import Slot, field_slot, keys_of, kinds_of, unwrapped


@dataclass
class Spelling:
    """A raw file with its misspelt keys put right.

    tree : the file as it is meant. complaints : of the misspelt keys, at the paths of the file itself.
    """

    tree: Tree
    complaints: list[Complaint] = field(default_factory=list)
    _written: dict[Path, str] = field(default_factory=dict)
    _unsure: set[Path] = field(default_factory=set)

    @classmethod
    def of(cls, tree: Tree, *, root: type[BaseModel]) -> "Spelling":
        """Put right the keys of a file with the tables of `root`."""
        spelling = cls(tree)
        spelling.tree = spelling._meant(tree, Slot(root), path=(), written=())
        return spelling

    def as_written(self, complaints: Sequence[Complaint]) -> Iterator[Complaint]:
        """Complaints about the meant file at the paths of the file itself.

        What is said of a value whose key was only guessed is left out: a number may be in another unit.
        """
        for complaint in complaints:
            prefixes = [complaint.path[: length + 1] for length in range(len(complaint.path))]
            if not self._unsure.intersection(prefixes):
                path = tuple(self._written.get(prefix, prefix[-1]) for prefix in prefixes)
                yield replace(complaint, path=path)

    def _meant(self, value: Any, slot: Slot, *, path: Path, written: Path) -> Any:
        if path in self._unsure and isinstance(value, int | float) and not isinstance(value, bool):
            return Guessed(value)
        arguments = get_args(slot.type)
        if isinstance(value, Mapping) and get_origin(slot.type) is dict:
            inner = unwrapped(arguments[1])
            return {
                key: self._meant(entry, inner, path=(*path, key), written=(*written, key))
                for key, entry in value.items()
            }
        if isinstance(value, list) and get_origin(slot.type) is tuple:
            inner = unwrapped(arguments[0])
            return [
                self._meant(entry, inner, path=(*path, k), written=(*written, k))
                for k, entry in enumerate(value)
            ]
        models = _models(slot)
        if not models or not isinstance(value, Mapping):
            return value
        return self._table(value, models, path=path, written=written)

    def _table(
        self, table: Mapping[str, Any], models: tuple[type[BaseModel], ...], *, path: Path, written: Path
    ) -> Tree:
        models = _of_kind(table, models)
        slots = _slots(models)
        meant: Tree = {}
        for key, entry in table.items():
            right = key if key in slots else _nearest(key, entry, slots=slots)
            if right in table or right in meant:
                right = key
            if right != key:
                self._note(key, entry, path=(*path, right))
                self.complaints.append(_unknown((*written, key), models))
            slot = slots.get(right, Slot(None))
            meant[right] = self._meant(entry, slot, path=(*path, right), written=(*written, key))
        return meant

    def _note(self, key: str, entry: object, *, path: Path) -> None:
        """Remember how a key was written, and that a bare number may be in another unit."""
        self._written[path] = key
        if not isinstance(entry, Mapping | list | str):
            self._unsure.add(path)


def _nearest(key: str, entry: object, *, slots: Mapping[str, Slot]) -> str:
    """The key that a misspelt one is meant for, or itself."""
    right = nearest_word(key, slots)
    return key if right is None or not _fits(entry, slots[right]) else right


def _fits(entry: object, slot: Slot) -> bool:
    """Whether a value may be meant for a key: a table without one key of the other is something else."""
    if isinstance(entry, list):
        return not entry or any(
            _fits(element, unwrapped((*get_args(slot.type), None)[0])) for element in entry
        )
    if not isinstance(entry, Mapping) or not entry:
        return True
    if get_origin(slot.type) is dict:
        return any(_fits(inner, unwrapped(get_args(slot.type)[1])) for inner in entry.values())
    models = _models(slot)
    return not models or any(key in _slots(models) for key in entry)


def _unknown(path: Path, models: Sequence[type[BaseModel]]) -> Complaint:
    keys = list(dict.fromkeys(key for model in models for key in keys_of(model)))
    return unknown_key(path, keys=keys, remark=str(getattr(models[0], "remark", "")))


def _models(slot: Slot) -> tuple[type[BaseModel], ...]:
    if isinstance(slot.type, type) and issubclass(slot.type, BaseModel):
        return (slot.type,)
    return tuple(kinds_of(slot).values())


@lru_cache(maxsize=128)
def _slots(models: tuple[type[BaseModel], ...]) -> Mapping[str, Slot]:
    return {
        field.alias or name: field_slot(field)
        for model in models
        for name, field in model.model_fields.items()
    }


def _of_kind(table: Mapping[str, Any], models: tuple[type[BaseModel], ...]) -> tuple[type[BaseModel], ...]:
    """The model of the kind that a table names, or all of them."""
    kind = table.get("kind")
    named = [
        model
        for model in models
        if len(models) > 1 and kind in get_args(model.model_fields["kind"].annotation)
    ]
    return tuple(named) or models
