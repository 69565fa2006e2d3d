"""Two set-ups on the same draws: paired differences with their intervals."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from towerpace.answers.estimates import LATER
from towerpace.units import Floats, Ints


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
    Source: Efron & Tibshirani (1993), An Introduction to the Bootstrap, section 12.5 (from memory).
    """
    plain = paired_difference(a, b, confidence=confidence)
    single, n = a - b, len(a)
    if plain.sd == 0:
        return plain
    drawn = single[rng.integers(0, n, size=(resamples, n))]
    spread = drawn.std(axis=1, ddof=1)
    some = spread > 0
    t = (drawn.mean(axis=1)[some] - plain.mean) / spread[some]  # the root of n in both errors cancels
    tail = (1 - confidence) / 2
    low, high = np.quantile(t, (tail, 1 - tail))
    return Difference(
        plain.mean, plain.mean - float(high) * plain.sd, plain.mean - float(low) * plain.sd, plain.sd
    )


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
    Source: Efron & Tibshirani (1993), An Introduction to the Bootstrap, chapter 13 (from memory).
    """
    n = len(a)
    rank = max(1, int(np.ceil(n * p - 1e-9))) - 1
    value = [np.partition(x, rank)[rank] for x in (a, b)]
    if LATER in value:
        return None
    rows = rng.integers(0, n, size=(resamples, n))
    drawn = [np.partition(x[rows], rank, axis=1)[:, rank] for x in (a, b)]
    known = (drawn[0] != LATER) & (drawn[1] != LATER)
    single = (drawn[0] - drawn[1])[known].astype(np.float64)
    tail = (1 - confidence) / 2
    low, high = np.quantile(single, (tail, 1 - tail))
    return Difference(float(value[0] - value[1]), float(low), float(high), float(single.std(ddof=1)))
