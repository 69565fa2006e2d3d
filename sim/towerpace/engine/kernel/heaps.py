"""Binary heaps of whole numbers, each a stretch of a longer array."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from towerpace.engine.kernel.jit import part

Ints = NDArray[np.int64]


@part
def push(values: Ints, start: int, size: int, key: int) -> None:
    """Put a key into the heap values[start : start + size]."""
    hole = size
    while hole > 0:
        above = (hole - 1) >> 1
        if values[start + above] <= key:
            break
        values[start + hole] = values[start + above]
        hole = above
    values[start + hole] = key


@part
def pop(values: Ints, start: int, size: int) -> int:
    """Take the smallest key out of the heap values[start : start + size]."""
    smallest = values[start]
    last = size - 1
    key = values[start + last]
    hole = 0
    child = 1
    while child < last:
        if child + 1 < last and values[start + child + 1] < values[start + child]:
            child += 1
        if values[start + child] >= key:
            break
        values[start + hole] = values[start + child]
        hole = child
        child = 2 * hole + 1
    values[start + hole] = key
    return int(smallest)
