"""Uncertain numbers once it is known that they are larger than something."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from towerpace.scenario.spreads import Spread
from towerpace.units import Floats

# Nothing is quite as sure as stated: of a hundred numbers one is of a law with a wide scatter. It decides
# only where the others have ended. Both are invented; what a trade has shown comes with what it learned.
WIDE_SHARE, WIDE_SD = 0.01, 0.35
STEPS = 32  # of halving, which leave less than a billionth
LEAST_SD = 1e-6
ALL_BUT = 1e-9


def given_longer(drawn: Floats, *, least: Floats, mean: Floats, log_sd: Floats) -> Floats:
    """Drawn numbers as they are once it is known that each is above some value, (k,).

    Parameters
    ----------
    drawn : ndarray
        As drawn without knowing, above 0, shape (k,).
    least : ndarray
        What each is known to be above, shape (k,); nothing changes where it is 0.
    mean, log_sd : ndarray
        Mean, and standard deviation of the logarithm [-], of the law that each is of, shape (k,).

    Notes
    -----
    With S the share of a law above a value: the x' for which S(x') = S(least) S(x), which is the place
    F(least) + (1 - F(least)) F(x) of the same draw, so a slow item stays a slow one. S is lognormal, with a
    share `WIDE_SHARE` of sd `WIDE_SD`, so that there is something left beyond any stated range.

    >>> given_longer(np.array([20.0]), least=np.array([0.0]), mean=np.array([20.0]), log_sd=np.array([0.3]))
    array([20.])
    """
    longer = drawn.copy()
    known = (least > 0) & (mean > 0) & (drawn > 0)
    if known.any():
        sds = np.maximum(log_sd[known], LEAST_SD)
        law = _Law(np.log(mean[known]), sds)
        both = law.survival(drawn[known]) + law.survival(least[known])
        longer[known] = np.exp(law.place(both, least=least[known]))
    return longer


class _Law:
    """Lognormal laws with a share of a wider one, each of the same mean; shares in logarithms."""

    def __init__(self, log_mean: Floats, sd: Floats) -> None:
        self._parts = [(sd, 1 - WIDE_SHARE), (np.maximum(sd, WIDE_SD), WIDE_SHARE)]
        self._log_mean = log_mean

    def survival(self, values: Floats) -> Floats:
        """Logarithm of the share above each value."""
        return self._above(np.log(values))

    def _above(self, logs: Floats) -> Floats:
        from scipy.special import log_ndtr

        parts = [
            np.log(share) + log_ndtr((self._log_mean - sd**2 / 2 - logs) / sd) for sd, share in self._parts
        ]
        above: Floats = np.logaddexp(*parts)
        return above

    def place(self, survival: Floats, *, least: Floats) -> Floats:
        """Logarithm of the value above which such shares lie, no less than some values."""
        low = np.log(least)
        high = np.maximum(low, self._log_mean) + 1
        while (self._above(high) > survival).any():
            high += 1
        for _ in range(STEPS):
            middle = (low + high) / 2
            above = self._above(middle) > survival
            low, high = np.where(above, middle, low), np.where(above, high, middle)
        return high


@lru_cache(maxsize=4096)
def share_below(spread: Spread, value: float) -> float:
    """Share of a spread below a value. [-]

    >>> round(share_below(Spread.triangular(low=0, likely=1, high=2), 1.0), 6)
    0.5
    """
    low, high = 0.0, 1.0
    for _ in range(STEPS):
        middle = (low + high) / 2
        below = float(spread.quantile(np.array([min(max(middle, 1e-15), 1 - 1e-15)]))[0]) < value
        low, high = (middle, high) if below else (low, middle)
    return low if high < 1 else 1.0


def quantile_above(spread: Spread, u: float, least: float) -> float:
    """Value of a spread at a probability, once it is known that it is above some value. [-]

    Beyond the highest stated value it is as `given_longer` of the highest, or the value itself below 0.
    """
    below = share_below(spread, least)
    if below < 1 - ALL_BUT:
        return float(spread.quantile(np.array([below + (1 - below) * u]))[0])
    if least <= 0:
        return least
    mean, drawn = (
        np.array([max(x, least * ALL_BUT)]) for x in (spread.mean(), float(spread.quantile(np.array([u]))[0]))
    )
    log_sd = np.sqrt(np.log1p((spread.sd() / mean) ** 2))
    return float(given_longer(drawn, least=np.array([least]), mean=mean, log_sd=log_sd)[0])
