"""Marks of forecasts that are trials: how far they lie from what came, and where it lies among them.

What has not come yet is open: it is known to lie behind the day up to which anything was seen. Then trials
and outcome alike are cut at that day, for all outcomes, come or open: to cut only those that have not come
would mark early outcomes harder than late ones.
"""

from __future__ import annotations

import numpy as np

from towerpace.units import Flags, Floats


def crps(trials: Floats, outcome: Floats, *, seen: float = np.inf) -> Floats:
    """Continuous ranked probability score of each outcome, (k,), in the unit of the trials.

    Parameters
    ----------
    trials : ndarray
        (n, k), n at least 2; what lies beyond every horizon is inf.
    outcome : ndarray
        (k,); inf for what is open.
    seen : float
        Up to when anything was seen: both are cut there.

    Notes
    -----
    The fair form, mean |x - y| - sum of |x_i - x_j| over pairs / (n (n - 1)), whose mean does not depend on
    n. Sources: Ferro (2014), Fair scores for ensemble forecasts; threshold-weighted by cutting: Gneiting &
    Ranjan (2011), Comparing density forecasts using threshold- and quantile-weighted scoring rules (both from
    memory).

    >>> float(crps(np.array([[0.0], [2.0]]), np.array([1.0]))[0])
    0.0
    """
    x, y = np.minimum(trials, seen), np.minimum(outcome, seen)
    n = len(x)
    scores: Floats = np.abs(x - y).mean(axis=0) - pairs(x) / (n * (n - 1))
    return scores


def pairs(trials: Floats) -> Floats:
    """Sum of |x_i - x_j| over all pairs i < j, (k,)."""
    n = len(trials)
    weights = (2 * np.arange(n) - n + 1).astype(np.float64)
    return np.asarray(weights @ np.sort(trials, axis=0), dtype=np.float64)


def crps_of_own(trials: Floats, *, seen: float = np.inf) -> Floats:
    """The score of each trial if it were the truth and the others the forecast, (n, k); n at least 3."""
    x = np.minimum(trials, seen)
    n = len(x)
    ordered = np.sort(x, axis=0)
    below = np.concatenate([np.zeros((1, x.shape[1])), np.cumsum(ordered, axis=0)])
    rank = np.argsort(np.argsort(x, axis=0, kind="stable"), axis=0, kind="stable")
    at = np.arange(x.shape[1])
    left = below[rank, at]
    apart = x * rank - left + (below[-1] - left - x) - x * (n - 1 - rank)
    scores: Floats = apart / (n - 1) - (pairs(x) - apart) / ((n - 1) * (n - 2))
    return scores


def place_among(trials: Floats, outcome: Floats, *, seen: float) -> Floats:
    """Share of the trials before each outcome, half of those that are equal to it, (k,). [-]

    The probability integral transform. That of an open outcome lies anywhere from the share of the trials
    that come by then to 1: its middle is taken.
    """
    is_open = outcome > seen
    before = (trials < outcome).mean(axis=0) + 0.5 * (trials == outcome).mean(axis=0)
    places: Floats = np.where(is_open, 0.5 * ((trials <= seen).mean(axis=0) + 1.0), before)
    return places


def later_than(trials: Floats, outcome: Floats, *, p: float, seen: float) -> Flags:
    """Whether each outcome is known to be later than a percentile of the trials, (k,)."""
    edge = np.sort(trials, axis=0)[_rank(len(trials), p)]
    late: Flags = np.minimum(outcome, seen) > edge
    return late


def later_of_own(trials: Floats, *, p: float, seen: float) -> Flags:
    """The same of each trial if it were the truth and the others the forecast, (n, k)."""
    ordered, k = np.sort(trials, axis=0), _rank(len(trials) - 1, p)
    # Without itself, the k-th of the others is the next one for whoever stands at or before it.
    edge = np.where(trials <= ordered[k], ordered[k + 1], ordered[k])
    late: Flags = np.minimum(trials, seen) > edge
    return late


def _rank(n: int, p: float) -> int:
    return max(1, int(np.ceil(n * p - 1e-9))) - 1


def as_badly(own: Floats, mark: float) -> float:
    """Chance that a right forecast does as badly or worse, from the marks of its own trials. [-]

    own : (n,). The truth counts as one more trial, so that it is never none.
    """
    return float((1 + np.count_nonzero(own >= mark - 1e-9)) / (len(own) + 1))


def effective_number(trials: Floats) -> tuple[float, float]:
    """Mean correlation of the columns, and how many independent ones tell as much. [-]

    Columns that never vary tell nothing and are left out. The number is k / (1 + (k - 1) r): so many
    independent values have a mean that varies as that of k values with mean correlation r.

    >>> mean, number = effective_number(np.array([[1.0, 2.0], [2.0, 3.0], [5.0, 6.0]]))
    >>> round(mean, 6), round(number, 6)
    (1.0, 1.0)
    """
    varies = trials[:, trials.std(axis=0) > 0]
    k = varies.shape[1]
    if k < 2:
        return float("nan"), float(k)
    matrix = np.corrcoef(varies, rowvar=False)
    mean = float((matrix.sum() - k) / (k * (k - 1)))
    return mean, k / (1 + (k - 1) * mean)


def moves_and_open(chances: Floats) -> tuple[float, float, float]:
    """Squared moves of a chance over the data dates, what is still open, and what both sum up to if honest.

    Chances that use all that is known are a martingale: the squared moves and p (1 - p) of the last one sum
    up in the mean to p (1 - p) of the first. Source: Augenblick & Rabin (2021), Belief movement, uncertainty
    reduction (from memory).

    >>> moves_and_open(np.array([0.5, 0.5, 1.0]))
    (0.25, 0.0, 0.25)
    """
    first, last = float(chances[0]), float(chances[-1])
    return float(np.sum(np.diff(chances) ** 2)), last * (1 - last), first * (1 - first)


def brier(chances: Floats, came: Flags) -> float:
    """Mean squared difference of chances and what came, 0 the best. [-]

    Source: Brier (1950), Verification of forecasts expressed in terms of probability (from memory).
    """
    return float(np.mean((chances - came) ** 2))


def brier_of_right(chances: Floats, mark: float) -> tuple[float, float]:
    """Mean of the Brier score if the chances are right, and the chance that it is as high or higher. [-]

    chances : (n,) of cases that are taken as independent. mark : the score that was got.

    Notes
    -----
    A case of chance p adds p (1 - p) in the mean, with variance p (1 - p) (1 - 2p)^2; the sum is taken as
    normal. Source: Spiegelhalter (1986), Probabilistic prediction in patient management and clinical trials,
    Statistics in Medicine 5: 421-433 (from memory). Cases of chance 0, 1/2 or 1 alone tell nothing: nan.

    >>> mean, so_high = brier_of_right(np.array([0.8, 0.8, 0.3, 0.3]), 0.185)
    >>> round(mean, 3), round(so_high, 3)
    (0.185, 0.5)
    """
    from scipy.special import ndtr

    spread = chances * (1 - chances)
    mean, error = float(spread.mean()), float((spread * (1 - 2 * chances) ** 2).sum() ** 0.5) / len(chances)
    return mean, float(ndtr((mean - mark) / error)) if error else float("nan")
