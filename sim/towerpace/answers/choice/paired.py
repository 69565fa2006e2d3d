"""Two set-ups on the same draws: paired differences with their intervals."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from towerpace.answers.estimates import LATER, interval_ranks
from towerpace.answers.rare import mean_of_rare
from towerpace.units import Floats, Ints

FEW_CHANGED = 10  # trials that change sides of a quantile: resamples of fewer know too little of them


@dataclass(frozen=True)
class Difference:
    """A mean paired difference and its interval. sd : of the single differences."""

    mean: float
    low: float
    high: float
    sd: float


def paired_difference(a: Floats, b: Floats, *, confidence: float = 0.95) -> Difference:
    """Mean of a - b over paired trials, with the paired-t interval.

    a, b : (n,), trial k of both under the same draw. Raises `ValueError` for fewer than two pairs.

    Source: Law, Simulation Modeling and Analysis, paired-t confidence interval (from memory).

    >>> x = np.array([126.97, 124.31, 126.68, 122.66, 127.23])
    >>> y = np.array([118.21, 120.22, 122.45, 122.68, 119.40])
    >>> found = paired_difference(x, y, confidence=0.9)
    >>> [round(v, 3) for v in (found.mean, found.low, found.high)]
    [4.978, 1.649, 8.307]
    """
    from scipy.stats import t

    if a.shape != b.shape or len(a) < 2:
        raise ValueError(f"need two equal runs of at least two trials, got {a.shape} and {b.shape}")
    single = a - b
    mean, sd = float(single.mean()), float(single.std(ddof=1))
    half = float(t.ppf(0.5 + confidence / 2, len(single) - 1)) * sd / len(single) ** 0.5
    return Difference(mean, mean - half, mean + half, sd)


def skewed_difference(
    a: Floats, b: Floats, *, rng: np.random.Generator, confidence: float = 0.95, resamples: int = 2000
) -> Difference:
    """Mean of a - b over paired trials, with the bootstrap-t interval: for few and skewed differences.

    a, b : (n,), trial k of both under the same draw. Raises `ValueError` for fewer than two pairs.

    Notes
    -----
    The gain of an addition is often nothing and sometimes much; over some twenty trials the paired-t
    interval is then too short on the side of the larger gain. Here t* = (mean* - mean) / se* over resamples
    takes the place of Student's t, and the interval is mean - t*(1 - tail) se to mean - t*(tail) se.
    Resamples without spread say nothing of t* and are left out.
    Where fewer than half of the trials differ, resamples know too few differences: then `mean_of_rare` gives
    the intervals of what is gained and of what is lost, and theirs make that of the difference. With l and g
    the mean loss and gain, its lower end is l - g - sqrt((l - l_low)^2 + (g_high - g)^2), the upper likewise.
    Sources: Efron & Tibshirani (1993), An Introduction to the Bootstrap, section 12.5; Zou & Donner (2008),
    Statistics in Medicine 27: 1693-1702, for the interval of a difference from two (both from memory).
    """
    plain = paired_difference(a, b, confidence=confidence)
    single, n = a - b, len(a)
    if plain.sd == 0:
        return plain
    if 2 * np.count_nonzero(single) < n:
        return _rarely_different(single, confidence=confidence)
    drawn = single[rng.integers(0, n, size=(resamples, n))]
    spread = drawn.std(axis=1, ddof=1)
    some = spread > 0
    t = (drawn.mean(axis=1)[some] - plain.mean) / spread[some]  # the root of n in both errors cancels
    tail = (1 - confidence) / 2
    low, high = np.quantile(t, (tail, 1 - tail))
    return Difference(
        plain.mean, plain.mean - float(high) * plain.sd, plain.mean - float(low) * plain.sd, plain.sd
    )


def _rarely_different(single: Floats, *, confidence: float) -> Difference:
    """Mean of (n,) differences of which most are none, from the intervals of its two sides."""
    later, earlier = (
        mean_of_rare(np.maximum(side, 0.0), confidence=confidence) for side in (single, -single)
    )
    # A side without any difference has no ends, and nothing to add.
    below = np.nan_to_num([later.value - later.low, earlier.high - earlier.value])
    above = np.nan_to_num([later.high - later.value, earlier.value - earlier.low])
    mean = later.value - earlier.value
    sd = float(single.std(ddof=1))
    return Difference(mean, mean - float(np.hypot(*below)), mean + float(np.hypot(*above)), sd)


def percentile_difference(
    a: Ints,
    b: Ints,
    p: float,
    *,
    rng: np.random.Generator,
    confidence: float = 0.95,
    resamples: int = 1000,
) -> Difference | None:
    """p-quantile of a less that of b, with the percentile interval of a paired bootstrap; None if beyond.

    a, b : (n,), LATER where beyond the horizon. Pairs are resampled together: what they share stays shared.

    Notes
    -----
    Where few trials change sides, resamples know too few changes and their interval is too short. It is then
    widened to h sqrt(s / (p (1 - p))) on either side, h half the order-statistic interval of one quantile
    and s the share of trials on one side of the quantile of a and on the other of that of b, half a trial
    added to the k seen: by Bahadur's representation the difference of the quantiles has the variance of
    the difference of the indicators, s at the most, where one quantile has p (1 - p).
    Where no trial differs at all the ends are those of no difference, and `sd` is 0: nothing is known of
    them.
    Sources: Efron & Tibshirani (1993), An Introduction to the Bootstrap, chapter 13; Bahadur (1966), Annals
    of Mathematical Statistics 37: 577-580 (both from memory). `tests/bench/bench_gains.py` measures the
    coverage.
    """
    n = len(a)
    rank = max(1, int(np.ceil(n * p - 1e-9))) - 1
    at_a, at_b = (np.partition(x, rank)[rank] for x in (a, b))
    if LATER in (at_a, at_b):
        return None
    value = float(at_a - at_b)
    rows = rng.integers(0, n, size=(resamples, n))
    drawn = [np.partition(x[rows], rank, axis=1)[:, rank] for x in (a, b)]
    known = (drawn[0] != LATER) & (drawn[1] != LATER)
    single = (drawn[0] - drawn[1])[known].astype(np.float64)
    tail = (1 - confidence) / 2
    low, high = (float(end) for end in np.quantile(single, (tail, 1 - tail)))
    sd = float(single.std(ddof=1))
    changed = int(np.count_nonzero((a <= at_a) != (b <= at_b)))
    if changed < FEW_CHANGED and not np.array_equal(a, b):
        half = (
            _half_interval(b, p, confidence=confidence) * ((changed + 0.5) / (n + 1) / (p * (1 - p))) ** 0.5
        )
        low, high, sd = min(low, value - half), max(high, value + half), max(sd, half / 2)
    return Difference(value, low, high, sd)


def _half_interval(values: Ints, p: float, *, confidence: float) -> float:
    """Half of the order-statistic interval of a quantile; its lower side where it ends beyond the horizon."""
    ordered = np.sort(values)
    low, high = (
        ordered[r - 1] for r in interval_ranks(len(values), p, confidence=confidence) or (1, len(values))
    )
    if high == LATER:
        return float(ordered[max(0, int(np.ceil(len(values) * p - 1e-9)) - 1)] - low)
    return float(high - low) / 2
