"""Lists and binary heaps of whole numbers, each a stretch [from, to) of an array.

The first number of a stretch says how many follow; the others are room to grow.
"""

from __future__ import annotations

from towerpace.compiling.jit import inline_part
from towerpace.engine.kernel.arrays import MINUTE_0
from towerpace.units import Ints

Stretch = tuple[int, int]


@inline_part
def stretch(first: Ints, number: int) -> Stretch:
    """The stretch of a list by its number; `first` says where each begins, and where the last ends."""
    return first[number], first[number + 1]


@inline_part
def whole(numbers: Ints) -> Stretch:
    """The stretch of an array that is one list."""
    return MINUTE_0, len(numbers)


@inline_part
def append(numbers: Ints, own: Stretch, number: int) -> bool:
    """Put a number at the end of a list; False if there is no room for it."""
    start, end = own
    place = start + numbers[start] + 1
    if place == end:
        return False
    numbers[start] += 1
    numbers[place] = number
    return True


@inline_part
def push(numbers: Ints, own: Stretch, key: int) -> bool:
    """Put a key into a heap; False if there is no room for it."""
    start, end = own
    hole = numbers[start] + 1
    if start + hole == end:
        return False
    numbers[start] = hole
    while hole > 1:
        above = hole >> 1
        if numbers[start + above] <= key:
            break
        numbers[start + hole] = numbers[start + above]
        hole = above
    numbers[start + hole] = key
    return True


@inline_part
def pop(numbers: Ints, own: Stretch) -> int:
    """Take the smallest key out of a heap."""
    start = own[0]
    smallest, last = numbers[start + 1], numbers[start]
    key = numbers[start + last]
    numbers[start] = last - 1
    hole, child = 1, 2
    while child < last:
        if child + 1 < last and numbers[start + child + 1] < numbers[start + child]:
            child += 1
        if numbers[start + child] >= key:
            break
        numbers[start + hole] = numbers[start + child]
        hole, child = child, 2 * child
    numbers[start + hole] = key
    return int(smallest)
