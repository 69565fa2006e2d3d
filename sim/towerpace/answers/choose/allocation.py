"""Where further trials tell most: optimal computing budget allocation, and successive rejects."""

from __future__ import annotations

from math import ceil

import numpy as np

from towerpace.units import Floats, Ints


def shares(gaps: Floats, spreads: Floats, *, best: int) -> Floats:
    """Shares of the trials that make it likeliest to find the best, (k,), by OCBA.

    gaps : (k,) how far each is behind the best. spreads : (k,) of that in one trial. best : place of it.

    Notes
    -----
    N_i / N_j = (spread_i / gap_i)^2 / (spread_j / gap_j)^2 for all but the best, and
    N_best = spread_best sqrt(sum over the others of (N_i / spread_i)^2).
    Source: Chen, Lin, Yuecesan & Chick (2000), Simulation budget allocation for further enhancing the
    efficiency of ordinal optimization, Discrete Event Dynamic Systems 10: 251-270 (from memory).

    Three of equal spread, one and two behind: (1, 1/4) for these, and sqrt(1 + 1/16) for the best.

    >>> shares(np.array([0.0, 1.0, 2.0]), np.ones(3), best=0).round(3)
    array([0.452, 0.438, 0.11 ])
    """
    spread = np.maximum(spreads, 1e-9)
    gap = np.maximum(np.abs(gaps), 1e-3 * spread)
    ratio: Floats = (spread / gap) ** 2
    others = np.arange(len(ratio)) != best
    ratio[best] = spread[best] * np.sqrt(np.sum((ratio[others] / spread[others]) ** 2)) if others.any() else 1
    whole: Floats = ratio / ratio.sum()
    return whole


def more_trials(has: Ints, share: Floats, *, more: int) -> Ints:
    """How many trials each is to have in all, (k,), when so many are added; nobody loses any.

    >>> more_trials(np.array([20, 20, 20]), np.array([0.5, 0.5, 0.0]), more=40)
    array([40, 40, 20])
    """
    wanted = share * (has.sum() + more)
    lacking = np.maximum(wanted - has, 0.0)
    total = lacking.sum()
    added = lacking if total <= more else lacking * more / total
    upto: Ints = (has + np.rint(added)).astype(np.int64)
    return upto


def rejecting(k: int, *, budget: int) -> list[int]:
    """Trials of each that is still in, at the end of every phase; after each phase one is rejected.

    Notes
    -----
    n_j = ceil((budget - k) / (logbar(k) (k + 1 - j))), logbar(k) = 1/2 + sum of 1/i for i = 2 .. k.
    Source: Audibert, Bubeck & Munos (2010), Best arm identification in multi-armed bandits, COLT 23: 41-53
    (from memory).

    >>> rejecting(4, budget=100)
    [16, 21, 31]
    """
    logbar = 0.5 + sum(1 / i for i in range(2, k + 1))
    return [max(1, ceil((budget - k) / (logbar * (k + 1 - j)))) for j in range(1, k)]
