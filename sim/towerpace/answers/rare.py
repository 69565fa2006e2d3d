"""Mean of amounts due in few trials: its interval from what is known of the chance and of the size."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from towerpace.units import Floats

SPREAD_LENT = 2  # amounts as scattered as exponential ones, lent to what is known of the scatter
GRID = 60  # values of the chance over which its doubt is spread; more move no end by a hundredth
E_FOLDS = 12.0  # ends lie within this factor of the mean, as a power of e: those of one amount within 6


@dataclass(frozen=True)
class RareMean:
    """Mean of all trials with its 95 % interval; the ends are nan where the trials tell of none."""

    value: float
    low: float
    high: float


def mean_of_rare(amounts: Floats, *, confidence: float = 0.95) -> RareMean:
    """Mean of (n,) amounts, 0 or more, of which most may be 0.

    No ends where no amount is due, as nothing is known of the size then, or where all are due and equal.

    Notes
    -----
    With k of n amounts due, of mean m and squared coefficient of variation c, the mean of all is p s. The
    chance p has the law beta (k, n - k + 1) for the lower end and beta (k + 1, n - k) for the upper. The
    size is s = m / g, g being gamma distributed with shape k / c and mean 1: exact for exponential
    amounts, where c = 1. Few amounts tell little of c, so two with c = 1 are lent to them, c = ((k - 1)
    c_seen + 2) / (k + 1). The ends are quantiles of p s under both laws at once. A single amount gives an
    interval of two powers of ten: how dear the next would be is hardly known.
    Sources: Clopper & Pearson (1934), Biometrika 26: 404-413, for p; to put the laws of what is known in the
    place of what is not is the generalized interval of Weerahandi (1993), J. American Statistical Association
    88: 899-905 (both from memory). The lending is ours; `tests/bench/bench_damages.py` measures the coverage.

    >>> due = mean_of_rare(np.array([0.0] * 97 + [4.0, 9.0, 20.0]))
    >>> round(due.value, 2), round(due.low, 2), round(due.high, 2)
    (0.33, 0.06, 1.96)
    """
    due = amounts[amounts > 0]
    n, k, mean = len(amounts), len(due), float(amounts.mean())
    if k == 0 or (k == n and np.ptp(due) == 0):
        return RareMean(mean, float("nan"), float("nan"))
    shape = k / _scatter(due)
    tail = (1 - confidence) / 2
    low, high = (
        _product_factor(q, share=k / n, shape=shape, chance=law)
        for q, law in ((tail, (k, n - k + 1)), (1 - tail, (k + 1, n - k)))
    )
    return RareMean(mean, mean * low, mean * high)


def _scatter(due: Floats) -> float:
    """Squared coefficient of variation of the amounts due, with some lent to it."""
    k = len(due)
    seen = 0.0 if k < 2 else float(due.var(ddof=1) / due.mean() ** 2)
    return ((k - 1) * seen + SPREAD_LENT) / (k - 1 + SPREAD_LENT)


def _product_factor(q: float, *, share: float, shape: float, chance: tuple[int, int]) -> float:
    """Quantile of (p / share) / g: p a chance, beta distributed, g gamma distributed of mean 1."""
    from scipy.optimize import brentq
    from scipy.special import betaincinv, gammaincc

    a, b = chance
    p = betaincinv(a, b, (np.arange(GRID) + 0.5) / GRID) if b > 0 else np.ones(1)

    def beyond(log_factor: float) -> float:
        return float(gammaincc(shape, shape * p / share / np.exp(log_factor)).mean()) - q

    return float(np.exp(brentq(beyond, -E_FOLDS, E_FOLDS, xtol=1e-6)))
