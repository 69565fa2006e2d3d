"""What drives the finish: how each drawn input goes together with it, over the trials of a forecast.

Rank correlation (Spearman) with the interval of Bonett & Wright; standardised rank regression, ordinary least
squares on standardised ranks with t intervals; and the share of the variance that would go if an input were
known, by sorting the trials into groups of like input (first order, no model), with a jackknife interval.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from towerpace.answers.bid.estimate import Estimate
from towerpace.answers.bid.together import share_together
from towerpace.answers.drawn_inputs import Input
from towerpace.answers.estimates import LATER
from towerpace.units import DAY_MIN, Floats, Ints

FEWEST = 10  # trials for any interval
MOST_GROUPS = 20
TRIALS_A_GROUP = 25
FOLDS = 20  # of the jackknife
FEWEST_KNOWN = 2 * FOLDS
CONSTANT, DRIVES, NONE_SEEN = "constant", "drives", "no effect seen"


@dataclass(frozen=True)
class Driver:
    """One input and what it has to do with the finish.

    p10, p50, p90 : of the input, in its unit.
    rank : Spearman correlation with the finish. [-]  regression : standardised coefficient on ranks, None if
        the inputs are too many or say the same thing. [-]
    known : share of the variance of the finish that would go if the input were known, None with fewer than 40
        trials. [-]
    sd_known : deviation of the finish that would be left. [d]
    verdict : "constant", "drives" (the interval of `rank` leaves out 0) or "no effect seen".
    """

    name: str
    source: str
    unit: str
    p10: float
    p50: float
    p90: float
    rank: Estimate | None
    regression: Estimate | None
    known: Estimate | None
    sd_known: float | None
    verdict: str


@dataclass(frozen=True)
class Drivers:
    """All inputs, the strongest first.

    sd : deviation of the finish, None with trials beyond the horizon. [d]
    r_squared : share of the variance of the ranks that the regression explains. [-]
    groups : into which the trials were sorted for `known`.
    together : share of the variance that no sum of effects of single inputs explains: they act together, or
        with what is not listed; None with trials beyond the horizon or too few for so many inputs. [-]
    """

    trials: int
    sd: float | None
    r_squared: float | None
    groups: int
    drivers: tuple[Driver, ...]
    together: Estimate | None = None


def drivers(inputs: Sequence[Input], finish: Ints) -> Drivers:
    """Rank the inputs by the share of the variance that knowing them takes away, else by rank correlation.

    finish : (n,) LATER beyond the horizon, which ranks above all others. [min]

    About one in twenty inputs without any effect still shows one at 95 %.
    """
    varying = [k for k, one in enumerate(inputs) if np.ptp(one.values) > 0]
    fixed = len(finish) < FEWEST or np.ptp(finish) == 0
    coefficients, r_squared = (None, None) if fixed else rank_regression([inputs[k] for k in varying], finish)
    at = {k: place for place, k in enumerate(varying)}
    known_finish = not np.any(finish == LATER)
    days = finish / DAY_MIN if known_finish and not fixed else None
    made = []
    for k, one in enumerate(inputs):
        moves = k in at and not fixed
        rank = spearman(one.values, finish) if moves else None
        coefficient = coefficients[at[k]] if moves and coefficients is not None else None
        made.append(_driver(one, rank, coefficient, days))
    made.sort(key=_strength)
    sd = float((finish / DAY_MIN).std(ddof=1)) if known_finish and len(finish) > 1 else None
    together = None if days is None else share_together([inputs[k].values for k in varying], days)
    return Drivers(len(finish), sd, r_squared, groups_for(len(finish)), tuple(made), together)


def _strength(driver: Driver) -> tuple[bool, float, float, str]:
    """Order of the drivers: a steep rank correlation may still stand for next to none of the variance."""
    known = 0.0 if driver.known is None else driver.known.value
    rank = 0.0 if driver.rank is None else abs(driver.rank.value)
    return driver.rank is None, -known, -rank, driver.name


def _driver(one: Input, rank: Estimate | None, regression: Estimate | None, days: Floats | None) -> Driver:
    p10, p50, p90 = (float(v) for v in np.quantile(one.values, (0.1, 0.5, 0.9)))
    known, left = None, None
    if rank is not None and days is not None and len(days) >= FEWEST_KNOWN:
        known = share_if_known(one.values, days)
        left = float(days.std(ddof=1)) * float(np.sqrt(max(0.0, 1 - max(0.0, known.value))))
    verdict = CONSTANT if np.ptp(one.values) == 0 else NONE_SEEN
    if rank is not None and (rank.low > 0 or rank.high < 0):
        verdict = DRIVES
    return Driver(one.name, one.source, one.unit, p10, p50, p90, rank, regression, known, left, verdict)


def spearman(x: Floats, y: NDArray[np.generic]) -> Estimate:
    """Rank correlation of two samples of (n,) values, mean ranks for ties, with its 95 % interval. [-]

    Notes
    -----
    z = artanh(r) has the deviation sqrt((1 + r^2 / 2) / (n - 3)).
    Source: Bonett & Wright (2000), Psychometrika 65: 23-28 (from memory).

    Raises `ValueError` for fewer than ten pairs or a constant sample.
    """
    from scipy.stats import rankdata

    if len(x) < FEWEST or np.ptp(x) == 0 or np.ptp(y) == 0:
        raise ValueError(f"need at least {FEWEST} pairs that vary, got {len(x)}")
    r = float(np.corrcoef(rankdata(x), rankdata(y))[0, 1])
    if abs(r) > 1 - 1e-12:
        return Estimate(r, r, r)
    half = 1.959964 * ((1 + r**2 / 2) / (len(x) - 3)) ** 0.5
    z = np.arctanh(r)
    return Estimate(r, float(np.tanh(z - half)), float(np.tanh(z + half)))


def rank_regression(inputs: Sequence[Input], finish: Ints) -> tuple[list[Estimate] | None, float | None]:
    """Standardised rank regression coefficients with 95 % intervals, and the share they explain. [-]

    None where there are too few trials for so many inputs, or inputs that are sums of others.
    """
    from scipy.stats import rankdata, t

    n, k = len(finish), len(inputs)
    if not k or n < k + FEWEST:
        return None, None
    x = np.column_stack([_standard(rankdata(one.values)) for one in inputs])
    y = _standard(rankdata(finish))
    singular = np.linalg.svd(x, compute_uv=False)
    if singular[-1] < 1e-8 * singular[0]:
        return None, None
    inverse = np.linalg.inv(x.T @ x)
    coefficients = inverse @ x.T @ y
    left = y - x @ coefficients
    freedom = n - k - 1
    half = t.ppf(0.975, freedom) * np.sqrt(np.diag(inverse) * (left @ left) / freedom)
    found = [Estimate(float(c), float(c - h), float(c + h)) for c, h in zip(coefficients, half, strict=True)]
    return found, 1 - float(left @ left) / float(y @ y)


def _standard(values: Floats) -> Floats:
    scores: Floats = (values - values.mean()) / values.std(ddof=1)
    return scores


def groups_for(n: int) -> int:
    """Groups for so many trials: 25 trials a group, 2 to 20 groups."""
    return min(MOST_GROUPS, max(2, n // TRIALS_A_GROUP))


def share_if_known(x: Floats, y: Floats) -> Estimate:
    """Share of the variance of y that goes if x is known: first order, from (n,) values of each. [-]

    Raises `ValueError` for fewer than 40 values.

    Notes
    -----
    Var(E[Y | X]) / Var(Y), with E[Y | X] a straight line within each group of like x, freed from the spread
    that chance alone gives the lines: 1 - (SSR / (n - p)) / (SST / (n - 1)) for p numbers fitted; so it can
    fall below 0. Equal values stay in one group, which has a mean and no slope.
    Source: Saltelli et al. (2008), Global Sensitivity Analysis: The Primer, section 1.2.13; the correction is
    that of the adjusted R^2. Interval: grouped jackknife, Efron & Tibshirani (1993), chapter 11 (all from
    memory).
    """
    if len(x) < FEWEST_KNOWN:
        raise ValueError(f"need at least {FEWEST_KNOWN} values, got {len(x)}")
    whole = _share(x, y)
    fold = np.arange(len(x)) % FOLDS
    parts = np.array([_share(x[fold != k], y[fold != k]) for k in range(FOLDS)])
    half = 1.959964 * float(np.sqrt((FOLDS - 1) / FOLDS * ((parts - parts.mean()) ** 2).sum()))
    return Estimate(whole, whole - half, whole + half)


def _share(x: Floats, y: Floats) -> float:
    n, group = len(x), _groups(x)
    total = float(((y - y.mean()) ** 2).sum())
    if total == 0 or not group.max():
        return 0.0
    counts = np.bincount(group)
    across, along = (v - (np.bincount(group, weights=v) / counts)[group] for v in (x, y))
    spread = np.bincount(group, weights=across**2)
    sloped = (spread > 1e-12 * float(np.ptp(x)) ** 2) & (counts > 2)
    joint = np.bincount(group, weights=across * along)[sloped]
    left = float((along**2).sum() - (joint**2 / spread[sloped]).sum())
    freedom = n - len(counts) - int(sloped.sum())
    return 0.0 if freedom < 1 else 1 - (left / freedom) / (total / (n - 1))


def _groups(x: Floats) -> Ints:
    """Group of like value for each of (n,) values; equal values are never parted, common ones stand alone."""
    values, place, counts = np.unique(x, return_inverse=True, return_counts=True)
    most = groups_for(len(x))
    if len(values) <= most:
        return place.astype(np.int64)
    size, held, groups = len(x) / most, 0, [0]
    for before, count in pairwise(counts):
        held += int(before)
        full = held >= size or count >= size
        groups.append(groups[-1] + full)
        held = 0 if full else held
    return np.array(groups, dtype=np.int64)[place]
