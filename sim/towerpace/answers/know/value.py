"""The value of knowing a drawn number before a choice is made, by regression over common draws.

With losses L_k of the options k (money or days) and a drawn number X, the choice made without knowing costs
min_k E[L_k]. Whoever reads X first pays E[min_k E[L_k | X]] in the mean. The difference is the value of
knowing X: what measuring it is worth at most. It needs no trials within trials: E[L_k | X] is a regression of
the losses that were played on the X that were drawn.

Sources: M. Strong, J. E. Oakley & A. Brennan (2014), Medical Decision Making 34: 311-326, for the regression,
its bias and its standard error; H. Raiffa & R. Schlaifer (1961), Applied Statistical Decision Theory, for the
value of information (both from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from towerpace.units import Floats, Ints

FEWEST = 40  # trials for any value
SAMPLES = 200  # of the fitted losses, for bias and interval
FOLDS = 10  # parts of the trials that are judged by a rule learned on the others
KNOTS = (1, 3, 5)  # within the range of one number, tried in turn
FEW_VALUES = 6  # of a number that only takes some: each has a mean of its own
TRIALS_A_TERM = 10  # for numbers taken together
_LEAST_WEIGHT = 1e-9  # of a direction of the terms beside the largest


@dataclass(frozen=True)
class Worth:
    """What knowing is worth. [unit of the losses]

    value : freed from the bias of choosing the least of noisy fits; never below 0.
    low, high : 95 % interval.
    changes : share of the trials in which the choice would be another one. [-]
    shown : gain of a rule learned on nine tenths of the trials and followed in the last; mean of all tenths.
    shown_error : standard error of that gain.
    fitted : (n, n_options) loss of every option given what is known, less that of the choice without
        knowing.
    """

    value: float
    low: float
    high: float
    changes: float
    shown: float
    shown_error: float
    fitted: Floats

    @property
    def best(self) -> Ints:
        """Option with the least fitted loss in every trial, (n,)."""
        best: Ints = self.fitted.argmin(axis=1)
        return best


def of_everything(losses: Floats) -> float:
    """What it would be worth to know all that chance decides. [unit of the losses]

    losses : (n_trials, n_options), trial k of all options under the same draw.
    """
    return float(losses.mean(axis=0).min() - losses.min(axis=1).mean())


def worth(losses: Floats, terms: Floats, *, rng: np.random.Generator) -> Worth:
    """What it is worth to know a number, or several, before choosing.

    losses : (n_trials, n_options), trial k of all options under the same draw.
    terms : (n_trials, n_terms) functions of what would be known, as of `terms_of`.

    Raises `ValueError` for fewer than 40 trials or two options.

    Notes
    -----
    The fit is ordinary least squares on the terms. Its coefficients are drawn anew from their normal law,
    with the covariance of what the options leave unexplained together; the value of each such set of fits
    gives the bias, which is taken off, and part of the interval; the rest is that of a mean over the drawn
    numbers.
    """
    n, options = losses.shape
    if n < FEWEST or options < 2:
        raise ValueError(f"need {FEWEST} trials and two options, got {n} and {options}")
    chosen = int(losses.mean(axis=0).argmin())
    against = _against(losses)
    space = _space(terms)
    fitted = space @ (space.T @ against)
    saved = fitted[:, chosen] - fitted.min(axis=1)
    plain = _value(fitted)
    again = np.array([_value(sample) for sample in _samples(against, fitted, space, rng=rng)])
    value = max(0.0, plain - float(again.mean() - plain))
    half = 1.959964 * float(np.hypot(again.std(ddof=1), saved.std(ddof=1) / n**0.5))
    gains = _followed(against, terms)
    error = float(gains.std(ddof=1)) / n**0.5
    return Worth(
        value,
        max(0.0, value - half),
        value + half,
        float(np.mean(fitted.argmin(axis=1) != chosen)),
        float(gains.mean()),
        error,
        fitted,
    )


def _against(losses: Floats) -> Floats:
    """Losses less those of the choice without knowing: what all options share is no reason to choose."""
    differences: Floats = losses - losses[:, [int(losses.mean(axis=0).argmin())]]
    return differences


def _value(fitted: Floats) -> float:
    return float(fitted.mean(axis=0).min() - fitted.min(axis=1).mean())


def _space(terms: Floats) -> Floats:
    """Orthonormal columns that span a constant and the terms, (n, rank)."""
    whole = np.column_stack((np.ones(len(terms)), terms))
    left, weights, _ = np.linalg.svd(whole, full_matrices=False)
    space: Floats = left[:, weights > _LEAST_WEIGHT * weights[0]]
    return space


def _samples(losses: Floats, fitted: Floats, space: Floats, *, rng: np.random.Generator) -> list[Floats]:
    """Fits as they might as well have come out, (n, n_options) each."""
    n, rank = space.shape
    unexplained = losses - fitted
    covariance = unexplained.T @ unexplained / (n - rank)
    scales, directions = np.linalg.eigh(covariance)
    root = directions * np.sqrt(np.maximum(scales, 0.0))
    noise = rng.standard_normal((SAMPLES, rank, losses.shape[1]))
    return [fitted + space @ (one @ root.T) for one in noise]


def _followed(losses: Floats, terms: Floats) -> Floats:
    """What following the fits gains in trials that did not teach them, (n,)."""
    n = len(losses)
    fold = np.arange(n) % FOLDS
    whole = np.column_stack((np.ones(n), terms))
    gains = np.empty(n)
    for part in range(FOLDS):
        ours, others = fold == part, fold != part
        coefficients = np.linalg.lstsq(whole[others], losses[others], rcond=None)[0]
        followed = (whole[ours] @ coefficients).argmin(axis=1)
        without = int(losses[others].mean(axis=0).argmin())
        at_hand = losses[ours]
        gains[ours] = at_hand[:, without] - at_hand[np.arange(len(at_hand)), followed]
    return gains


def terms_of(values: Floats, losses: Floats) -> Floats:
    """Terms of one drawn number, (n, n_terms), as fine as the losses bear.

    values : (n,). A number of few values gets one term a value but the first. Others get a straight line, a
    parabola, or a cubic spline in their rank, which knows no tails: whichever has the least generalised
    cross-validation, all options together.

    Source: P. Craven & G. Wahba (1978), Numerische Mathematik 31: 377-403 (from memory).
    """
    different = np.unique(values)
    if len(different) <= FEW_VALUES:
        each: Floats = (values[:, None] == different[None, 1:]).astype(np.float64)
        return each
    standard = ((values - values.mean()) / values.std())[:, None]
    tried = [standard, np.column_stack((standard, standard**2)), *(_spline(values, k) for k in KNOTS)]
    against = _against(losses)
    return min(tried, key=lambda terms: _cross_validation(against, terms))


def terms_together(numbers: Sequence[Floats]) -> Floats | None:
    """Terms of several numbers known together, (n, n_terms): effects add up; None if they are too many.

    Each gets its rank and the square of it, or the rank alone where the trials bear no more.
    """
    lines = [_line(values) for values in numbers if np.ptp(values) > 0]
    most = (len(lines[0]) if lines else 0) // TRIALS_A_TERM
    if not lines or len(lines) > most:
        return None
    bent = [line**2 for line in lines] if 2 * len(lines) <= most else []
    return np.column_stack([*lines, *bent])


def _cross_validation(against: Floats, terms: Floats) -> float:
    space = _space(terms)
    n, rank = space.shape
    whole = ((against - against.mean(axis=0)) ** 2).sum(axis=0)
    left = ((against - space @ (space.T @ against)) ** 2).sum(axis=0)
    shares = left[whole > 0] / whole[whole > 0]
    return float(shares.sum() / (1 - rank / n) ** 2)


def _ranks(values: Floats) -> Floats:
    """Ranks between 0 and 1, equal values at their mean. [-]"""
    from scipy.stats import rankdata

    ranks: Floats = (rankdata(values) - 0.5) / len(values)
    return ranks


def _line(values: Floats) -> Floats:
    line: Floats = 2 * _ranks(values)[:, None] - 1
    return line


def _spline(values: Floats, knots: int) -> Floats:
    """Cubic spline in the rank with so many knots at equal distances, one term left out for the constant."""
    from scipy.interpolate import BSpline

    inner = np.linspace(0, 1, knots + 2)
    at = np.concatenate(((0.0,) * 3, inner, (1.0,) * 3))
    dense: Floats = BSpline.design_matrix(_ranks(values), at, 3).toarray()
    return dense[:, 1:]
