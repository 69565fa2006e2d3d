"""Estimates with their standard errors: of independent trials, and of long runs by batch means."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike


@dataclass(frozen=True)
class Estimate:
    """A number from a simulation and its standard error."""

    value: float
    error: float

    def agrees(self, expected: float, *, sees: float, known_to: float = 0.0) -> bool:
        """Within 4 standard errors of the expected value (a false alarm in about 16,000 for normal errors).

        sees : smallest departure that must be noticed, as a share of the expected value. An estimate too
            coarse for it proves nothing, so it is refused. [-]
        known_to : standard error of the expected value itself, where that too was simulated.
        """
        error = float(np.hypot(self.error, known_to))
        if not 4 * error <= sees * abs(expected):
            raise ValueError(f"4 x {error:.6g} is too coarse to see {sees:.1%} of {expected:.6g}")
        return abs(self.value - expected) <= 4 * error


def mean_of(values: ArrayLike) -> Estimate:
    """Mean of independent trials."""
    x = np.asarray(values, dtype=np.float64)
    return Estimate(float(x.mean()), float(x.std(ddof=1) / np.sqrt(x.size)))


def sd_of(values: ArrayLike) -> Estimate:
    """Standard deviation of independent trials.

    Its error follows from the fourth moment, var(s^2) = (m4 - s^4) / n, and the delta method.
    """
    x = np.asarray(values, dtype=np.float64)
    sd = float(x.std(ddof=1))
    fourth = float(((x - x.mean()) ** 4).mean())
    return Estimate(sd, float(np.sqrt((fourth - sd**4) / x.size) / (2 * sd)))


def share_of(marked: ArrayLike) -> Estimate:
    """Share of independent trials that are marked."""
    x = np.asarray(marked, dtype=np.bool_)
    p = float(x.mean())
    return Estimate(p, float(np.sqrt(p * (1 - p) / x.size)))


def quantile_of(values: ArrayLike, p: float) -> Estimate:
    """Quantile of independent trials; error sqrt(p (1 - p) / n) times the slope of the quantile function."""
    x = np.asarray(values, dtype=np.float64)
    reach = 0.01
    below, at, above = np.quantile(x, [p - reach, p, p + reach])
    return Estimate(float(at), float(np.sqrt(p * (1 - p) / x.size) * (above - below) / (2 * reach)))


def batch_mean_of(values: ArrayLike, *, batches: int = 32, warm_up: float = 0.04) -> Estimate:
    """Mean of a long dependent series, its error from the means of consecutive batches.

    Source: A. M. Law, Simulation Modeling and Analysis, chapter on output analysis (from memory).

    warm_up : share of the series left out at the start, because a queue starts empty. [-]
    """
    x = np.asarray(values, dtype=np.float64)
    x = x[int(warm_up * x.size) :]
    size = x.size // batches
    return mean_of(x[: size * batches].reshape(batches, size).mean(axis=1))
