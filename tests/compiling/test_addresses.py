"""Tuples of arrays that compiled code reads from a table of addresses."""

from __future__ import annotations

from typing import Annotated, NamedTuple, TypeVar

import numpy as np
import pytest

from support.compiler import compiled_here, is_dependency
from towerpace.compiling.addresses import Laid, addresses_of, at_addresses, fields_of, item_of, width_of
from towerpace.units import Flags, Floats, Ints

needs_numba = pytest.mark.skipif(not is_dependency("numba"), reason="there is no numba for this machine")


class Inner(NamedTuple):
    cubes: Annotated[Ints, 3]
    count: int
    shares: Annotated[Floats, 2]


class Outer(NamedTuple):
    flags: Flags
    inner: Inner
    minutes: Ints


read = at_addresses(Outer)


def example() -> Outer:
    cubes = np.arange(2 * 3 * 4).reshape(2, 3, 4)
    return Outer(
        np.array([True, False, True]), Inner(cubes, 17, np.arange(10.0).reshape(2, 5)), np.array([5, 6])
    )


@compiled_here
def look(table, out):
    outer = read(table)
    inner = outer.inner
    out[0] = outer.flags[1]
    out[1] = outer.flags[2]
    out[2] = inner.cubes[1, 2, 3]
    out[3] = inner.count
    out[4] = inner.shares[1, 4]
    out[5] = len(outer.minutes)
    out[6] = outer.minutes[1]
    out[7] = inner.cubes.shape[1]
    outer.minutes[0] = 99


def test_compiled_code_reads_and_writes_the_arrays_where_they_are():
    outer, out = example(), np.zeros(8)
    look(addresses_of(outer), out)
    assert out.tolist() == [0, 1, 23, 17, 9, 2, 6, 3]
    assert outer.minutes.tolist() == [99, 6]


def test_fields_stand_one_behind_the_other():
    assert [field.at for field in fields_of(Outer).values()] == [0, 2, 10]
    assert width_of(Outer) == 12


@needs_numba
@pytest.mark.parametrize(
    "minutes",
    [np.zeros(2, dtype=np.int32), np.zeros((2, 2), dtype=np.int64), np.zeros(8, dtype=np.int64)[::2]],
)
def test_an_array_that_is_not_as_declared_is_refused(minutes):
    with pytest.raises(ValueError, match="minutes must be int64 with 1 axes in one piece"):
        addresses_of(example()._replace(minutes=minutes))


def test_a_table_with_other_fields_leaves_those_of_the_first_alone():
    outer, out = example(), np.zeros(8)
    laid = Laid(outer)
    others = {"minutes": np.array([7, 8, 9]), "inner.count": 41, "inner.shares": np.full((3, 5), 2.5)}
    look(laid.but(others), out)
    assert out.tolist() == [0, 1, 23, 41, 2.5, 3, 8, 3]
    look(laid.but({}), out)
    assert out.tolist() == [0, 1, 23, 17, 9, 2, 6, 3]


@needs_numba
def test_another_field_that_is_not_as_declared_is_refused():
    with pytest.raises(ValueError, match=r"inner.shares must be float64 with 2 axes"):
        Laid(example()).but({"inner.shares": np.zeros(3)})


def test_the_items_of_an_array_are_found_however_numpy_spells_its_type():
    scalar = TypeVar("scalar", bound=np.generic)
    spelt_out = np.ndarray[tuple[int, ...], np.dtype[scalar]]  # type: ignore[valid-type]  # as numpy does
    assert item_of(spelt_out[np.int64]) is np.int64
    assert item_of(list[np.bool_]) is np.bool_  # an alias has the items alone
