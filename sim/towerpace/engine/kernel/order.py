"""The order in which the kernel keeps the steps of a plan: as they come when everything goes as planned.

A step is read in a dozen places, each in an array of its own. Where steps that come one after the other stand
one behind the other, what one look brings in from memory serves the next ones; the remedies stand behind all
others, as most of them are left out. A trial of a tower takes three quarters of the time. The diary does not
depend on the order: wherever a number decides, it is that of the plan.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from towerpace.engine.kernel.arrays import NONE, Numbers, Stamps, StepArrays
from towerpace.engine.kernel.gather import starts
from towerpace.units import Flags, Ints

LISTS = {
    "first_need": ("need_pool", "need_quantity"),
    "first_give": ("give_pool", "give_quantity", "give_taker"),
    "first_after": ("after",),
}
NAMED = ("give_taker", "after")  # lists of steps


def order_of(started: Stamps, *, skip: Flags) -> Ints:
    """Numbers of the steps, in the order of the kernel, (n,).

    started : minute at which each step starts as planned; what never does comes last. skip : remedies.
    """
    behind = np.where(started == NONE, started.max(initial=0) + 1, started)
    return np.lexsort((behind, skip))


def in_order(steps: StepArrays, order: Ints) -> StepArrays:
    """Steps that stand in the order of the plan, in another.

    order : (n,) numbers of the steps.
    """
    place = np.empty_like(order)
    place[order] = np.arange(len(order))
    lists: dict[str, Any] = {}
    for first, names in LISTS.items():
        lists |= _lists_in_order(steps, first, names, order=order)
    own = {name: values[order] for name, values in steps._asdict().items() if name not in lists} | lists
    for name in NAMED:
        own[name] = np.where(own[name] == NONE, NONE, place[own[name]]).astype(np.int32)
    return StepArrays(**own)


def _lists_in_order(steps: StepArrays, first: str, names: tuple[str, ...], *, order: Ints) -> dict[str, Any]:
    """The lists of every step."""
    begins, entries = entries_in_order(getattr(steps, first), order)
    return {first: begins} | {name: getattr(steps, name)[entries] for name in names}


def entries_in_order(begins: Numbers, order: Ints | Numbers) -> tuple[Numbers, Ints]:
    """Where lists begin when they stand in another order, and from where each entry of them comes.

    begins : (n + 1,) of the lists as they stand. order : (n,) numbers of the lists.
    """
    lengths = np.diff(begins)[order]
    own = starts(lengths)
    # The place of every entry: where its own list began, and how far behind that it stood.
    entries: Ints = np.repeat(begins[:-1][order] - own[:-1], lengths) + np.arange(own[-1])
    return own.astype(np.int32), entries
