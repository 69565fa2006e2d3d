"""The plan as the site went: without the links that it did not keep."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from towerpace.plan.arrays import Ragged, transposed
from towerpace.plan.model import Plan


def without_links(plan: Plan, links: Sequence[tuple[int, int]]) -> Plan:
    """The same steps with some links left out.

    links : predecessor and successor of each.

    Examples
    --------
    >>> from towerpace import Plan, Step
    >>> plan = Plan([Step("cast"), Step("strip", after=["cast"]), Step("clean", after=["cast", "strip"])])
    >>> [lists.tolist() for lists in (without_links(plan, [(0, 2)]).before[2], plan.before[2])]
    [[1], [0, 1]]
    """
    if not links:
        return plan
    before, owners = plan.before.values, plan.before.owners
    gone = np.isin(owners * plan.n + before, [after * plan.n + first for first, after in links])
    counts = np.bincount(owners[~gone], minlength=plan.n)
    kept = Ragged(np.concatenate(([0], np.cumsum(counts))), before[~gone])
    return plan.changed(before=kept, after=transposed(kept))
