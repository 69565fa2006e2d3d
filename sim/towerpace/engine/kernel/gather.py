"""Which steps of a plan wait in crowds, as tables; what a crowd is stands in `crowds`."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from towerpace.engine.kernel import columns as c
from towerpace.plan.lists import START
from towerpace.plan.model import NONE, Plan

Ints = NDArray[np.int64]


class Crowds:
    """Crowds, classes and members, with the columns of `columns`; starts in `site` are left open.

    crowds : (n_crowds, 8). classes : (n_classes, 2). [min]  members : (n_members, 3), by crowd and key.
    member : (n,) number of each step among the members, or NONE.
    """

    def __init__(self, plan: Plan, *, turn: Ints) -> None:
        steps = _steps_in_crowds(plan)
        pools, windows = plan.needs.values[plan.needs.start[steps]], plan.window[steps]
        order = np.lexsort((turn[steps], windows, pools))
        steps = steps[order]
        pairs, crowd = _distinct(pools[order], windows[order])
        classes, number = _distinct(crowd, plan.expected[steps])
        members, class_starts = (
            np.searchsorted(x, np.arange(len(pairs) + 1)) for x in (crowd, classes[:, 0])
        )
        self.crowds: Ints = np.zeros((len(pairs), c.CROWD_COLUMNS), dtype=np.int64)
        self.crowds[:, [c.POOL, c.CROWD_WINDOW]] = pairs
        self.crowds[:, c.FIRST_CLASS], self.crowds[:, c.END_CLASS] = class_starts[:-1], class_starts[1:]
        self.crowds[:, c.FIRST_MEMBER] = members[:-1]
        self.crowds[:, c.LEAVES] = [1 << (size - 1).bit_length() for size in np.diff(members).tolist()]
        self.classes: Ints = classes[:, ::-1]
        self.members: Ints = np.column_stack((crowd, number - class_starts[crowd], turn[steps]))
        self.member: Ints = np.full(plan.n, NONE, dtype=np.int64)
        self.member[steps] = np.arange(len(steps))


def _steps_in_crowds(plan: Plan) -> Ints:
    """Steps of mode "start" that need one unit of one pool, which is served by rank and in no line.

    In the other modes any open minute will do: a gain seldom finds the window closed.
    """
    alone = np.flatnonzero((np.diff(plan.needs.start) == 1) & (plan.mode == START))
    first = plan.needs.start[alone]
    pools = plan.needs.values[first]
    by_rank = ~plan.pools.first_come[pools] & (plan.pools.line[pools] == NONE)
    chosen: Ints = alone[by_rank & (plan.quantities.values[first] == 1)]
    return chosen


def _distinct(*columns: Ints) -> tuple[Ints, Ints]:
    """Distinct rows in ascending order, and the number of each row among them."""
    rows, number = np.unique(np.column_stack(columns), axis=0, return_inverse=True)
    return rows, number.reshape(-1)
