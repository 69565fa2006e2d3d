"""Whole minutes of many steps from what was drawn of them, in one compiled pass."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np

from towerpace.compiling.addresses import at_addresses
from towerpace.compiling.jit import entry, inline_part, stamp_of
from towerpace.units import Floats, Ints


class MinuteArrays(NamedTuple):
    """What compiled code reads of n steps whose minutes are factor x pace x (fixed + the weighted terms).

    sizes : (n_terms,) how many steps have a first term, a second, and so on; they are the first of the row.
    weights : (sum of sizes,) of the first terms, then of the second, and so on. [-]
    steps : (n,) of the plan. pace : (n,) place in the paces. factor : (n,). [-]  fixed : (n,). [min]
    """

    sizes: Ints
    weights: Floats
    steps: Ints
    pace: Ints
    factor: Floats
    fixed: Floats


@inline_part
def sum_of_terms(row: MinuteArrays, step: int, drawn: Floats) -> float:
    """Sum of the weighted terms of a step. [min]"""
    total, first = 0.0, 0
    for size in row.sizes:
        if step >= size:
            break
        total += row.weights[first + step] * drawn[first + step]
        first += size
    return total


rows_at = at_addresses(MinuteArrays)


def _stamped(stamp: int) -> Callable[[Any, Floats, Floats, Ints], bool]:
    """The entry, with the stamp of the sources that it is compiled from."""

    def write_minutes(table: Any, drawn: Floats, paces: Floats, work: Ints) -> bool:
        """Write the minutes of all steps of a row into those of the plan; what takes any time takes one."""
        row = rows_at(table)
        for step in range(len(row.steps)):
            terms = sum_of_terms(row, step, drawn)
            exact = row.factor[step] * paces[row.pace[step]] * (row.fixed[step] + terms)
            work[row.steps[step]] = max(int(np.rint(exact)), 1 if exact > 0 else 0)
        return stamp >= 0

    return entry(write_minutes)


write_minutes = _stamped(stamp_of(Path(__file__)))
