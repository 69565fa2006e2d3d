"""Longest path, floats and latest starts of the network with unlimited resources, vectorised.

Windows are left out: the network counts minutes of work, dates and lags as if the site never closed.
Source of the two passes: Kelley & Walker (1959), Critical-path planning and scheduling (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from towerpace.plan.arrays import PlanArrays, Ragged
from towerpace.units import Flags, Ints


@dataclass(frozen=True)
class Network:
    """Earliest and latest times of every step, (n,), and the length of the network. [min]

    `total_float` is latest start less earliest start: what a step may slip and still not move the end.
    """

    earliest_start: Ints
    earliest_finish: Ints
    latest_start: Ints
    latest_finish: Ints
    length: int

    @property
    def total_float(self) -> Ints:
        """Minutes each step may slip, (n,). [min]"""
        return self.latest_start - self.earliest_start

    @property
    def critical(self) -> Flags:
        """Steps without float, (n,)."""
        return np.equal(self.total_float, 0)


def network(plan: PlanArrays, *, work: Ints | None = None) -> Network:
    """Both passes over the plan.

    work : (n,) minutes to use instead of the expected work, which is 0 for what no plan counts on. [min]
    """
    minutes = np.where(plan.planned, plan.work, 0) if work is None else np.asarray(work, dtype=np.int64)
    layers = plan.layers
    start = plan.date.copy()
    for layer in layers[1:]:
        _fold(np.maximum, start, start + minutes, layer=layer, lists=plan.before)
    finish = start + minutes
    length = int(finish.max(initial=0))
    latest = np.full(plan.n, length, dtype=np.int64)
    for layer in reversed(layers[:-1]):
        _fold(np.minimum, latest, latest - minutes, layer=layer, lists=plan.after)
    return Network(start, finish, latest - minutes, latest, length)


def _fold(best: np.ufunc, target: Ints, values: Ints, *, layer: Ints, lists: Ragged) -> None:
    """target[i] = best of itself and values over its list, for the steps of one layer."""
    counts = lists.start[layer + 1] - lists.start[layer]
    some, counts = layer[counts > 0], counts[counts > 0]
    if not some.size:
        return
    starts = np.concatenate(([0], np.cumsum(counts)[:-1]))
    target[some] = best(target[some], best.reduceat(values[lists.of(some)], starts))
