"""Trees of smallest numbers: the first of many that is small enough, in a few steps.

A tree of 2^k leaves is a stretch of 2^(k + 1) numbers: the halves of node i are the nodes 2 i and 2 i + 1,
node 1 is the whole, and the leaves come last, in their order.
"""

from __future__ import annotations

from towerpace.compiling.jit import part
from towerpace.engine.kernel.arrays import NONE
from towerpace.engine.kernel.heaps import Stretch
from towerpace.units import Ints


@part
def set_leaf(trees: Ints, own: Stretch, leaf: int, value: int) -> None:
    """Give a leaf a value."""
    tree, end = own
    node = ((end - tree) >> 1) + leaf
    trees[tree + node] = value
    while node > 1:
        least = min(trees[tree + node], trees[tree + (node ^ 1)])
        node >>= 1
        if trees[tree + node] == least:
            break
        trees[tree + node] = least


@part
def first_below(trees: Ints, own: Stretch, bound: int) -> int:
    """The first leaf with a value below the bound, or NONE."""
    tree, end = own
    if trees[tree + 1] >= bound:
        return NONE
    n_leaves, node = (end - tree) >> 1, 1
    while node < n_leaves:
        node *= 2
        if trees[tree + node] >= bound:
            node += 1
    return node - n_leaves
