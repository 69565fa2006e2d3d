"""The share of the variance that inputs make only together, beyond what each does by itself."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from towerpace.answers.bid.estimate import Estimate
from towerpace.units import Floats

DEGREE = 3
FOLDS = 20
TRIALS_A_TERM = 4


def share_together(inputs: Sequence[Floats], y: Floats) -> Estimate | None:
    """Share of the variance of y that no sum of curves of single inputs explains, of (n,) values each. [-]

    None with fewer than four trials for each term of the curves, or without an input.

    Notes
    -----
    One less the adjusted R^2 of least squares on cubics of the ranks of each input and of their normal
    scores: the one bends where an input is even, the other in its tails. What the inputs do not decide at all
    is in it too. Interval: grouped jackknife, Efron & Tibshirani (1993), chapter 11 (from memory).
    """
    columns = [curve for values in inputs for curve in _curves(values)]
    if not columns or len(y) < max(2 * FOLDS, TRIALS_A_TERM * len(columns)):
        return None
    x = np.column_stack([np.ones(len(y)), *columns])
    fold = np.arange(len(y)) % FOLDS
    whole = _left(x, y)
    parts = np.array([_left(x[fold != k], y[fold != k]) for k in range(FOLDS)])
    half = 1.959964 * float(np.sqrt((FOLDS - 1) / FOLDS * ((parts - parts.mean()) ** 2).sum()))
    return Estimate(whole, max(0.0, whole - half), min(1.0, whole + half))


def _curves(values: Floats) -> list[Floats]:
    """Powers of the ranks, scaled to -1 .. 1, and of their normal scores; fewer where values are few."""
    from scipy.special import ndtri
    from scipy.stats import rankdata

    share, different = (rankdata(values) - 0.5) / len(values), len(np.unique(values))
    curves = [(2 * share - 1) ** power for power in range(1, min(DEGREE, different - 1) + 1)]
    if different > 2 * DEGREE:
        curves += [ndtri(share) ** power for power in range(1, DEGREE + 1)]
    return curves


def _left(x: Floats, y: Floats) -> float:
    coefficients, _, rank, _ = np.linalg.lstsq(x, y, rcond=None)
    total = float(((y - y.mean()) ** 2).sum())
    if total == 0:
        return 0.0
    left = float(((y - x @ coefficients) ** 2).sum())
    return (left / (len(y) - rank)) / (total / (len(y) - 1))
