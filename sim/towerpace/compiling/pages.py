"""Arrays put together on large pages of memory.

An address is looked up page by page, and the processor keeps few pages at hand. numpy asks the system for
pages of 2 MiB under any array of 4 MiB and more, so a hundred arrays that lie in one such array need a few
pages instead of a thousand. Where the system has no large pages the arrays only lie side by side.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, TypeVar, cast

import numpy as np
from numpy.typing import NDArray

Arrays = TypeVar("Arrays", bound=tuple[Any, ...])

PAGE = 1 << 21  # bytes of a large page
LEAST = 1 << 22  # bytes from which on numpy asks for large pages
WORTH_IT = 1 << 18  # bytes: what fewer small pages hold is at hand anyway
LINE = 64  # bytes that are fetched from memory at once


class Pages:
    """Memory for copies of some arrays, which lives as long as any of them.

    arrays : all that it must have room for.
    """

    def __init__(self, arrays: Sequence[NDArray[Any]]) -> None:
        n_bytes = sum(map(_room_of, arrays))
        if n_bytes < WORTH_IT:
            self._left = np.zeros(n_bytes, dtype=np.uint8)
        else:
            memory = np.zeros(max(n_bytes, LEAST) + PAGE, dtype=np.uint8)
            self._left = memory[-memory.__array_interface__["data"][0] % PAGE :]

    def hold(self, array: NDArray[Any]) -> NDArray[Any]:
        """A copy of an array behind those held before."""
        held = self._left[: array.nbytes].view(array.dtype).reshape(array.shape)
        held[...] = array
        self._left = self._left[_room_of(array) :]
        return held


def _room_of(array: NDArray[Any]) -> int:
    """Bytes that an array takes, in whole lines."""
    return -(-array.nbytes // LINE) * LINE


def on_pages(arrays: Arrays) -> Arrays:
    """A tuple of arrays, and of tuples of arrays, with copies that lie together.

    >>> from typing import NamedTuple
    >>> Pair = NamedTuple("Pair", [("some", np.ndarray), ("many", int)])
    >>> on_pages(Pair(np.arange(3), many=3))
    Pair(some=array([0, 1, 2]), many=3)
    """
    return cast(Arrays, _held(arrays, Pages(list(_arrays_of(arrays)))))


def _arrays_of(arrays: tuple[Any, ...]) -> Iterator[NDArray[Any]]:
    for value in arrays:
        if isinstance(value, tuple):
            yield from _arrays_of(value)
        elif isinstance(value, np.ndarray):
            yield value


def _held(value: Any, pages: Pages) -> Any:
    """The tuple with copies; what is neither an array nor a tuple stays."""
    if isinstance(value, np.ndarray):
        return pages.hold(value)
    if hasattr(value, "_make"):
        return value._make(_held(one, pages) for one in value)
    return value
