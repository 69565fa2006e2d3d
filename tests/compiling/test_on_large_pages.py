"""Arrays that are put together keep what they hold, and stand apart in memory as they must."""

from __future__ import annotations

from itertools import pairwise
from typing import NamedTuple

import numpy as np

from towerpace.compiling.pages import LINE, PAGE, WORTH_IT, on_pages


class Inner(NamedTuple):
    """Arrays within arrays."""

    flags: np.ndarray
    none: np.ndarray


class Outer(NamedTuple):
    """Arrays of several widths, and a number."""

    minutes: np.ndarray
    inner: Inner
    n: int
    table: np.ndarray


def _arrays(n: int) -> Outer:
    inner = Inner(np.arange(n) % 3 == 0, np.zeros(0, dtype=np.int32))
    return Outer(np.arange(n, dtype=np.int32), inner, n, np.arange(2 * n, dtype=np.int64).reshape(2, n))


def _begin(array: np.ndarray) -> int:
    return int(array.__array_interface__["data"][0])


def test_copies_hold_the_same_and_lie_apart() -> None:
    for n in (7, WORTH_IT):  # a few bytes, and more than is worth large pages
        arrays = _arrays(n)
        held = on_pages(arrays)
        assert held.n == n
        pairs = [(arrays.minutes, held.minutes), (arrays.inner.flags, held.inner.flags)]
        pairs += [(arrays.inner.none, held.inner.none), (arrays.table, held.table)]
        for given, copy in pairs:
            np.testing.assert_array_equal(given, copy)
            assert copy.dtype == given.dtype
            assert copy.flags.c_contiguous
            copy[...] = 0  # would be seen in the neighbours, were they not apart
        spans = sorted((_begin(copy), _begin(copy) + copy.nbytes) for _, copy in pairs if copy.nbytes)
        assert all(end <= begin for (_, end), (begin, _) in pairwise(spans))
        assert spans[-1][1] - spans[0][0] <= sum(end - begin + LINE for begin, end in spans)


def test_much_begins_where_a_large_page_does() -> None:
    held = on_pages(_arrays(WORTH_IT))
    assert _begin(held.minutes) % PAGE == 0
