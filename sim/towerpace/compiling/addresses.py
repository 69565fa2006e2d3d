"""Arrays by name, handed to compiled code as one table of addresses.

numba takes a tuple of arrays apart: each of its hundred arrays becomes seven arguments of every function that
the tuple is handed to, and compiling them took a minute. So Python writes down where each array begins and
how long it is, compiled code is handed that table alone, and `steps.mode[step]` reads there where `mode` is.
The source stays the same, and runs as it stands where there is no numba.

The table says, in the order of the fields: of an array its address and the length of each axis, of a number
the number itself, of a tuple within the tuple its own table.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cache
from importlib import import_module
from typing import Any, Generic, NamedTuple, TypeVar, cast, get_args, get_type_hints

import numpy as np

from towerpace.compiling.jit import numba
from towerpace.units import Ints

Arrays = TypeVar("Arrays", bound=tuple[Any, ...])


class Field(NamedTuple):
    """A field of a tuple of arrays: how it was declared.

    at : its first place in the table. dtype : of an array; None for a number. axes : of an array.
    within : the class of a tuple within the tuple, or None.
    """

    at: int
    dtype: np.dtype[Any] | None
    axes: int
    within: type[tuple[Any, ...]] | None

    @property
    def width(self) -> int:
        """Places that it takes in the table."""
        return width_of(self.within) if self.within else 1 + self.axes


@cache
def fields_of(arrays: type[tuple[Any, ...]]) -> dict[str, Field]:
    """The fields of a class of tuples in their order, as its annotations say."""
    fields: dict[str, Field] = {}
    at = 0
    for name, hint in get_type_hints(arrays, include_extras=True).items():
        axes = next((word for word in getattr(hint, "__metadata__", ()) if isinstance(word, int)), 1)
        field = _field(get_args(hint)[0] if hasattr(hint, "__metadata__") else hint, axes=axes, at=at)
        fields[name] = field
        at += field.width
    return fields


def _field(hint: Any, *, axes: int, at: int) -> Field:
    if hint is int:
        return Field(at, None, 0, None)
    if hasattr(hint, "_fields"):
        return Field(at, None, 0, hint)
    return Field(at, np.dtype(item_of(hint)), axes, None)


def item_of(array: Any) -> Any:
    """Type of the items of an array's type, which numpy spells out in some versions and not in others."""
    words = get_args(array)
    return words[0] if len(words) == 1 else get_args(words[1])[0]


@cache
def width_of(arrays: type[tuple[Any, ...]]) -> int:
    """Places that a class of tuples takes in the table."""
    return sum(field.width for field in fields_of(arrays).values())


def addresses_of(arrays: Arrays) -> Ints | Arrays:
    """The table of a tuple of arrays, which must outlive it; the tuple itself where there is no numba.

    Raises
    ------
    ValueError
        If an array is not what its class declares: compiled code would read it wrongly without a word.
    """
    if numba() is None:
        return arrays
    table: list[int] = []
    _write(table, arrays)
    return np.array(table, dtype=np.int64)


def _write(table: list[int], arrays: tuple[Any, ...]) -> None:
    for (name, field), value in zip(fields_of(type(arrays)).items(), arrays, strict=True):
        if field.within is not None:
            _write(table, value)
        else:
            table += _numbers_of(name, field, value)


def _numbers_of(name: str, field: Field, value: Any) -> list[int]:
    """What the table says of an array or a number."""
    if field.dtype is None:
        return [int(value)]
    if value.dtype != field.dtype or value.ndim != field.axes or not value.flags.c_contiguous:
        raise ValueError(
            f"{name} must be {field.dtype} with {field.axes} axes in one piece, "
            f"not {value.dtype} {value.shape}"
        )
    return [value.__array_interface__["data"][0], *value.shape]


class Laid(Generic[Arrays]):
    """A tuple of arrays whose table is written once, and in which some fields are others in every trial.

    Who hands its table to compiled code holds it in a name of its own until that is done: an attribute may be
    replaced meanwhile by another thread that made the same, and the arrays would go with the first.
    """

    def __init__(self, arrays: Arrays) -> None:
        self.arrays = arrays
        self._table = addresses_of(arrays)

    @property
    def table(self) -> Ints | Arrays:
        """What compiled code is handed while all fields are as they were laid."""
        return self._table

    def but(self, others: Mapping[str, Any]) -> Ints | Arrays:
        """What compiled code is handed, with other fields by their dotted names; they must outlive it.

        Raises
        ------
        ValueError
            If an array is not what its class declares.
        """
        if self._table is self.arrays:
            return cast(Arrays, _replaced(self.arrays, others))
        table: Ints = cast(Ints, self._table).copy()
        for name, value in others.items():
            at, field = _place_of(type(self.arrays), name)
            for place, number in enumerate(_numbers_of(name, field, value), start=at):
                table[place] = number
        return table


@cache
def _place_of(arrays: type[tuple[Any, ...]], dotted: str) -> tuple[int, Field]:
    """Where a field by its dotted name stands in the table, and how it was declared."""
    name, _, rest = dotted.partition(".")
    field = fields_of(arrays)[name]
    if not rest:
        return field.at, field
    assert field.within is not None
    at, inner = _place_of(field.within, rest)
    return field.at + at, inner


def _replaced(arrays: Any, others: Mapping[str, Any]) -> Any:
    inner: dict[str, dict[str, Any]] = {}
    plain: dict[str, Any] = {}
    for dotted, value in others.items():
        name, _, rest = dotted.partition(".")
        if rest:
            inner.setdefault(name, {})[rest] = value
        else:
            plain[name] = value
    return arrays._replace(**plain, **{k: _replaced(getattr(arrays, k), v) for k, v in inner.items()})


def at_addresses(arrays: type[Arrays]) -> Callable[[Any], Arrays]:
    """What compiled code calls to read a table as a tuple of this class."""
    if numba() is None:
        return lambda table: cast(Arrays, table)
    records = import_module("towerpace.compiling.records")
    return cast("Callable[[Any], Arrays]", records.reader_of(arrays))
