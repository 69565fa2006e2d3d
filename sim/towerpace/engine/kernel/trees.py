"""Trees of smallest numbers: the first of many that is small enough, in a few steps.

A tree of 2^k leaves is a stretch of 2^(k + 1) numbers: the halves of node i are the nodes 2 i and 2 i + 1,
node 1 is the whole, and the leaves come last, in their order.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from towerpace.engine.kernel.columns import NONE
from towerpace.engine.kernel.jit import part

Ints = NDArray[np.int64]


@part
def set_leaf(values: Ints, tree: int, node: int, value: int) -> None:
    """Give a leaf, by its node, a value."""
    values[tree + node] = value
    while node > 1:
        least = min(values[tree + node], values[tree + (node ^ 1)])
        node >>= 1
        if values[tree + node] == least:
            break
        values[tree + node] = least


@part
def first_below(values: Ints, tree: int, leaves: int, bound: int) -> int:
    """Place of the first leaf with a value below the bound, or NONE."""
    if values[tree + 1] >= bound:
        return NONE
    node = 1
    while node < leaves:
        node *= 2
        if values[tree + node] >= bound:
            node += 1
    return node - leaves
