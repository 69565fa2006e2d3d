"""Estimates from trials, each with its interval: percentiles by order statistics, chances by counting.

Trials that did not finish inside the horizon count as later than every other: they are never dropped.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from towerpace.engine.diary import NEVER
from towerpace.units import Flags, Ints

LATER = np.iinfo(np.int64).max  # finishes after the horizon
BEYOND = "after the horizon"  # how people read it


def or_later(stamps: NDArray[np.int32]) -> Ints:
    """Stamps of a diary as minutes, LATER for what never came. [min]"""
    return np.where(stamps == NEVER, LATER, stamps.astype(np.int64))


@dataclass(frozen=True)
class Percentile:
    """A percentile and its interval, in the unit of the values; None where it lies beyond the horizon.

    low, high : ends of the interval; `bounded` is False where the number of trials allows no interval.
    """

    p: float
    value: int | None
    low: int | None
    high: int | None
    bounded: bool


@cache
def interval_ranks(n: int, p: float, *, confidence: float = 0.95) -> tuple[int, int] | None:
    """Ranks (1 the smallest) between which the p-quantile of n values lies with this confidence, or None.

    Raises `ValueError` for fewer than one value or a p outside (0, 1).

    Notes
    -----
    l is the largest rank with P(B < l) <= a/2 and u the smallest with P(B >= u) <= a/2, B binomial (n, p)
    and a = 1 - confidence. None where either rank does not exist.
    Source: Conover (1999), Practical Nonparametric Statistics, 3rd ed., section 3.2 (from memory).

    >>> interval_ranks(1000, 0.8)
    (775, 825)
    >>> interval_ranks(10, 0.9) is None
    True
    """
    if n < 1 or not 0 < p < 1:
        raise ValueError(f"need n >= 1 and 0 < p < 1, got n = {n}, p = {p}")
    tail = (1 - confidence) / 2
    low = _binomial_quantile(tail, n, p)
    high = _binomial_quantile(1 - tail, n, p) + 1
    return (low, high) if low >= 1 and high <= n else None


def _binomial_quantile(q: float, n: int, p: float) -> int:
    """The smallest number such that so many hits or fewer in n trials have a probability of q or more.

    As `scipy.stats.binom.ppf`, importing which takes a second.
    """
    from scipy.special import bdtr, bdtrik

    above = int(np.ceil(bdtrik(q, n, p)))
    below = max(above - 1, 0)
    return below if bdtr(below, n, p) >= q else above


def percentile(values: Ints, p: float, *, confidence: float = 0.95) -> Percentile:
    """A percentile of trial results: the value of rank ceil(n p), with its order-statistic interval.

    values : (n,) results, LATER for trials beyond the horizon.
    """
    ordered = np.sort(values)
    n = len(ordered)
    ranks = interval_ranks(n, p, confidence=confidence)
    # 1e-9 keeps a product such as 0.8 x 10 from being rounded up to the next rank
    rank = max(1, int(np.ceil(n * p - 1e-9)))
    low, high = ranks or (1, n)
    at = [None if ordered[r - 1] == LATER else int(ordered[r - 1]) for r in (rank, low, high)]
    return Percentile(p, at[0], at[1], at[2], ranks is not None)


@dataclass(frozen=True)
class Chance:
    """A share of trials and its interval. [-]"""

    value: float
    low: float
    high: float


def chance(hits: Flags, *, confidence: float = 0.95) -> Chance:
    """Share of trials in which something came true, with the exact binomial interval.

    hits : (n,). Source: Clopper & Pearson (1934), Biometrika 26: 404-413 (from memory).
    """
    from scipy.special import betaincinv  # the quantile of a beta distribution

    n, k = len(hits), int(np.count_nonzero(hits))
    tail = (1 - confidence) / 2
    low = 0.0 if k == 0 else float(betaincinv(k, n - k + 1, tail))
    high = 1.0 if k == n else float(betaincinv(k + 1, n - k, 1 - tail))
    return Chance(k / n, low, high)


def unseen_at_most(n: int, *, confidence: float = 0.95) -> float:
    """Largest share of all trials in which something may come true that none of n trials has shown.

    One-sided: a larger share would have shown itself with at least this confidence.
    Source: Clopper & Pearson (1934), Biometrika 26: 404-413 (from memory), for none of n.

    >>> [round(unseen_at_most(n), 3) for n in (20, 100, 400)]
    [0.139, 0.03, 0.007]
    """
    return float(1 - (1 - confidence) ** (1 / n))
