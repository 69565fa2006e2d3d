"""Fully sequential selection of the best of several set-ups on common draws.

Procedure of S.-H. Kim & B. L. Nelson (2001), A fully sequential procedure for indifference-zone selection
in simulation, ACM Trans. Modeling and Computer Simulation 11: 251-273 (from memory), with c = 1 and for
the smallest mean: whatever the correlation between the set-ups, the one kept is the best with at least the
stated confidence whenever the best is better by the indifference zone or more. Otherwise the one kept is
within the zone of the best with that confidence.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from towerpace.units import Floats

More = Callable[[Sequence[int], int, int], Floats]


@dataclass(frozen=True)
class Selection:
    """What the procedure found.

    best : the set-up kept. runs : (k,) trials spent on each. values : for each set-up the results of its
    trials. settled : False if the trials ran out before all but one were dropped.
    """

    best: int
    runs: tuple[int, ...]
    values: tuple[Floats, ...]
    settled: bool


def eta(k: int, *, confidence: float, first: int) -> float:
    """The constant of the region: ((2 a / (k - 1)) ** (-2 / (first - 1)) - 1) / 2, a = 1 - confidence."""
    return 0.5 * (float((2 * (1 - confidence) / (k - 1)) ** (-2 / (first - 1))) - 1)


def select(
    k: int,
    more: More,
    *,
    zone: float,
    confidence: float = 0.95,
    first: int = 20,
    most: int = 2000,
    batch: int = 10,
) -> Selection:
    """Select the set-up with the smallest mean.

    k : number of set-ups. more : gives results, (m, n), of m set-ups over trials [a, b). zone : difference
    that matters, in the unit of the results. first : trials before anything is dropped. most : trials of
    any set-up at which it stops unsettled. batch : trials added at a time; screening is done after each.

    Raises `ValueError` for fewer than two set-ups, a zone that is not positive, or too few trials.
    """
    if k < 2 or zone <= 0 or first < 3 or most < first:
        raise ValueError(f"need k >= 2, zone > 0, 3 <= first <= most, got {k}, {zone}, {first}, {most}")
    values = list(more(range(k), 0, first))
    variance = _difference_variances(np.array(values))
    h2 = 2 * eta(k, confidence=confidence, first=first) * (first - 1)
    alive = list(range(k))
    r = first
    while True:
        alive = _screen(alive, values, r=r, zone=zone, h2=h2, variance=variance)
        if len(alive) == 1:
            return _selection(alive[0], values, settled=True)
        # Beyond this many trials the continuation region is closed for every pair still in.
        last = max(int(h2 * variance[i, j] / zone**2) for i in alive for j in alive if i != j)
        if r > last:
            return _selection(min(alive, key=lambda i: values[i].mean()), values, settled=True)
        if r >= most:
            return _selection(min(alive, key=lambda i: values[i].mean()), values, settled=False)
        upto = min(r + batch, most)
        for i, row in zip(alive, more(alive, r, upto), strict=True):
            values[i] = np.concatenate((values[i], row))
        r = upto


def _difference_variances(first: Floats) -> Floats:
    """Sample variance of every paired difference of the first trials, (k, k)."""
    k = len(first)
    variances = np.zeros((k, k))
    for i in range(k):
        for j in range(i):
            variances[i, j] = variances[j, i] = np.var(first[i] - first[j], ddof=1)
    return variances


def _screen(
    alive: list[int], values: list[Floats], *, r: int, zone: float, h2: float, variance: Floats
) -> list[int]:
    """Set-ups that no other one beats by more than the continuation region is wide."""
    sums = {i: float(values[i][:r].sum()) for i in alive}

    def width(i: int, j: int) -> float:
        return max(0.0, zone / 2 * (h2 * float(variance[i, j]) / zone**2 - r))

    return [i for i in alive if all(sums[i] <= sums[j] + width(i, j) for j in alive if j != i)]


def _selection(best: int, values: list[Floats], *, settled: bool) -> Selection:
    return Selection(best, tuple(len(v) for v in values), tuple(values), settled)
