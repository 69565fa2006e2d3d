"""Arrays put together in one piece of memory.

An address is looked up page by page, and the processor keeps few pages at hand. numpy asks the system for
pages of 2 MiB under any array of 4 MiB and more, so hundreds of arrays that lie in one such array need a few
pages instead of a thousand. Where the system has no large pages the arrays only lie side by side.
"""

from __future__ import annotations

from typing import Any, TypeVar, cast

import numpy as np
from numpy.typing import NDArray

Arrays = TypeVar("Arrays", bound=tuple[Any, ...])

PAGE = 1 << 21  # bytes of a large page
LEAST = 1 << 22  # bytes from which on numpy asks for large pages
WORTH_IT = 1 << 18  # bytes: what fewer pages hold is at hand anyway
LINE = 64  # bytes: no two arrays share what is fetched from memory at once


class Piece:
    """A piece of memory that arrays are put into, one behind the other.

    n_bytes : of all arrays together, as `room_of` says of each.
    """

    def __init__(self, n_bytes: int) -> None:
        if n_bytes < WORTH_IT:
            self._left = np.zeros(n_bytes, dtype=np.uint8)
            return
        memory = np.zeros(max(n_bytes, LEAST) + PAGE, dtype=np.uint8)
        self._left = memory[-memory.__array_interface__["data"][0] % PAGE :]

    def hold(self, array: NDArray[Any]) -> NDArray[Any]:
        """A copy of an array in this piece, which lives as long as any of its arrays."""
        held = self._left[: array.nbytes].view(array.dtype).reshape(array.shape)
        held[...] = array
        self._left = self._left[room_of(array) :]
        return held


def room_of(array: NDArray[Any]) -> int:
    """Bytes that an array takes in a piece."""
    return -(-array.nbytes // LINE) * LINE


def in_one_piece(arrays: Arrays) -> Arrays:
    """A tuple of arrays, and of tuples of arrays, with copies of them that lie in one piece.

    >>> from typing import NamedTuple
    >>> Pair = NamedTuple("Pair", [("some", np.ndarray), ("many", int)])
    >>> in_one_piece(Pair(np.arange(3), many=3))
    Pair(some=array([0, 1, 2]), many=3)
    """
    return cast(Arrays, _held(arrays, Piece(_room(arrays))))


def _room(arrays: tuple[Any, ...]) -> int:
    n_bytes = 0
    for value in arrays:
        if isinstance(value, tuple):
            n_bytes += _room(value)
        elif isinstance(value, np.ndarray):
            n_bytes += room_of(value)
    return n_bytes


def _held(arrays: Any, piece: Piece) -> Any:
    """The tuple with copies; what is neither an array nor a tuple stays."""
    held = (
        _held(value, piece)
        if isinstance(value, tuple)
        else piece.hold(value)
        if isinstance(value, np.ndarray)
        else value
        for value in arrays
    )
    return arrays._make(held)
