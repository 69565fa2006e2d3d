"""Which steps of a plan wait in crowds; what a crowd is stands in `crowds`."""

from __future__ import annotations

import numpy as np

from towerpace.engine.kernel.arrays import NOBODY, NONE, CrowdArrays
from towerpace.plan.lists import START
from towerpace.plan.model import Plan
from towerpace.units import Ints


def crowds_of(plan: Plan, *, turn: Ints) -> tuple[CrowdArrays, Ints]:
    """The crowds of a plan at minute 0, and the number of each step among their members, (n,), or NONE.

    turn : (n,) place of each step in the order of rank and number.
    """
    steps = _steps_in_crowds(plan)
    pools, windows = plan.needs.values[plan.needs.start[steps]], plan.window[steps]
    order = np.lexsort((turn[steps], windows, pools))
    steps = steps[order]
    pairs, crowd = _distinct(pools[order], windows[order])
    classes, number = _distinct(crowd, plan.expected[steps])
    edges = np.arange(len(pairs) + 1)
    first_class, first_member = np.searchsorted(classes[:, 0], edges), np.searchsorted(crowd, edges)
    leaves = [1 << (size - 1).bit_length() for size in np.diff(first_member).tolist()]
    n_pools = len(plan.pools.names)
    n_crowds = np.bincount(pairs[:, 0], minlength=n_pools)
    # The marks of a pool (see `enablers`) need room for one after each gain and one before the first.
    n_gains = np.bincount(plan.give_pool.values, minlength=n_pools) + 1
    first_node, first_crowd = starts(2 * np.array(leaves, dtype=np.int64)), starts(n_crowds + 1)
    first_mark = starts(np.where(n_crowds > 0, n_gains, 0))
    crowds = CrowdArrays(
        pool=pairs[:, 0].copy(),
        window=pairs[:, 1].astype(np.int32),
        first_class=first_class,
        first_member=first_member,
        first_node=first_node,
        tree=np.full(first_node[-1], NOBODY),
        first_key=np.full(len(pairs), NOBODY),
        seen_at=np.full(len(pairs), NONE),
        seen_tick=_zeros(len(pairs)),
        n_fitting=_zeros(len(pairs)),
        n_fits=_zeros(len(pairs)),
        fit_classes=_zeros(len(classes)),
        fit_tick=_zeros(len(classes)),
        class_min=classes[:, 1].copy(),
        class_crowd=classes[:, 0].copy(),
        alarm=np.full(len(classes), NONE),
        member_crowd=crowd,
        member_class=number - first_class[crowd],
        member_key=turn[steps],
        joined_tick=_zeros(len(steps)),
        first_crowd=first_crowd,
        waiting=_zeros(first_crowd[-1]),
        has_opened=np.zeros(n_pools, dtype=np.bool_),
        short_before=_zeros(n_pools),
        tick=_zeros(n_pools),
        gain_tick=_zeros(n_pools),
        first_mark=first_mark,
        n_marks=_zeros(n_pools),
        mark_tick=_zeros(first_mark[-1]),
        mark_before=_zeros(first_mark[-1]),
        mark_giver=_zeros(first_mark[-1]),
    )
    member = np.full(plan.n, NONE)
    member[steps] = np.arange(len(steps))
    return crowds, member


def starts(lengths: Ints) -> Ints:
    """Where lists of some lengths begin if they stand one behind the other, and where the last ends."""
    return np.concatenate(([0], np.cumsum(lengths, dtype=np.int64)))


def _zeros(n: int) -> Ints:
    return np.zeros(n, dtype=np.int64)


def _steps_in_crowds(plan: Plan) -> Ints:
    """Steps of mode "start" that need one unit of one pool, which is served by rank and in no line.

    Only these may find their window closed, or too little of the shift left, at nearly every gain of their
    pool: a crate must fit into the rest of a shift, while work that pauses may begin in any open minute.
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
