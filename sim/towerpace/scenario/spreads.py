"""Spreads: uncertain numbers as the user states them, and their quantile functions.

A spread makes no random number. `draws.py` makes uniform numbers; a spread turns them into values.
scipy is imported where it is used, because it costs more time than all else at start-up.
"""

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from functools import lru_cache
from statistics import NormalDist
from typing import Literal

import numpy as np

from towerpace.units import Floats

Kind = Literal["constant", "pert", "triangular", "quantiles", "samples", "own"]

PERT_WEIGHT = 4.0
Z90 = NormalDist().inv_cdf(0.9)
# Beyond this share below zero a stated spread is refused where only numbers from 0 up make sense.
SHARE_BELOW_ZERO = 1e-6


@dataclass(frozen=True, slots=True)
class Spread:
    """An uncertain number; use the class methods to make one.

    Parameters
    ----------
    kind : str
        "constant", "pert", "triangular", "quantiles" or "samples"; "own" of `OwnSpread`.
    params : tuple of float
        The numbers of the kind, in the order of its class method; of samples, ascending.
    source : str, optional
        Where the numbers come from.
    share_cut : float, optional
        Share of a "quantiles" spread that lies below 0 and is left out, at most `SHARE_BELOW_ZERO`. [-]
    """

    kind: Kind
    params: tuple[float, ...]
    source: str = ""
    share_cut: float = 0.0
    _samples: Floats | None = field(default=None, init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        if self.kind == "samples":
            samples = np.array(self.params)
            samples.setflags(write=False)
            object.__setattr__(self, "_samples", samples)

    def __reduce__(self) -> tuple[type["Spread"], tuple[object, ...]]:
        return Spread, (self.kind, self.params, self.source, self.share_cut)

    @classmethod
    def constant(cls, value: float, *, source: str = "") -> "Spread":
        """A number without spread."""
        return cls("constant", (_finite(value),), source)

    @classmethod
    def pert(cls, *, low: float, likely: float, high: float, source: str = "") -> "Spread":
        """Beta-PERT of weight 4 between low and high (Malcolm et al. 1959, Oper. Res. 7:646-669)."""
        return cls("pert", _ascending(low, likely, high), source)

    @classmethod
    def triangular(cls, *, low: float, likely: float, high: float, source: str = "") -> "Spread":
        """Triangular law between low and high with its peak at likely."""
        return cls("triangular", _ascending(low, likely, high), source)

    @classmethod
    def quantiles(cls, *, p10: float, p50: float, p90: float, source: str = "") -> "Spread":
        """Shifted lognormal through three quantiles: normal if symmetric, mirrored if skewed to the left."""
        params = _ascending(p10, p50, p90)
        if not p10 < p50 < p90:
            raise ValueError(f"p10 < p50 < p90 must hold, found {p10}, {p50}, {p90}")
        return cls("quantiles", params, source)

    @classmethod
    def samples(cls, values: Iterable[float], *, source: str = "") -> "Spread":
        """Empirical law: the straight-line quantile function through the sorted samples."""
        ordered = tuple(sorted(_finite(value) for value in values))
        if len(ordered) < 2:
            raise ValueError(f"at least two samples are needed, found {len(ordered)}")
        return cls("samples", ordered, source)

    def without_negatives(self) -> "Spread":
        """The same spread, given that it is not below 0.

        Raises
        ------
        ValueError
            If more than `SHARE_BELOW_ZERO` of it lies below 0.
        """
        if self.low is not None and self.low >= 0:
            return self
        share = NormalDist().cdf(_z_of_zero(self.params)) if self.kind == "quantiles" else 1.0
        if share > SHARE_BELOW_ZERO:
            raise ValueError("part of it lies below 0")
        return Spread(self.kind, self.params, self.source, share)

    @property
    def low(self) -> float | None:
        """The lowest value, or None where there is none."""
        if self.kind == "quantiles":
            sigma, scale = _lognormal(self.params)
            bound = self.params[1] - scale if sigma > 0 else None
            return 0.0 if self.share_cut > 0 else bound
        return self.params[0]

    @property
    def high(self) -> float | None:
        """The highest value, or None where there is none."""
        if self.kind == "quantiles":
            sigma, scale = _lognormal(self.params)
            return self.params[1] - scale if sigma < 0 else None
        return self.params[-1]

    def mean(self) -> float:
        """The mean value of what `quantile` gives.

        Notes
        -----
        Beta-PERT (low + 4 likely + high) / 6. Shifted lognormal with X = p50 + s (exp(g Z) - 1):
        p50 + s (exp(g^2 / 2) - 1), in which a cut of at most 1e-6 of the law is neglected.
        Samples: the area under the straight-line quantile function, not the plain mean of the samples.
        """
        params = self.params
        if self.kind == "constant":
            return params[0]
        if self.kind == "pert":
            return (params[0] + PERT_WEIGHT * params[1] + params[2]) / (PERT_WEIGHT + 2)
        if self.kind == "triangular":
            return sum(params) / 3
        if self.kind == "quantiles":
            sigma, scale = _lognormal(params)
            return params[1] + (scale * math.expm1(sigma**2 / 2) if sigma else 0.0)
        return (math.fsum(params) - (params[0] + params[-1]) / 2) / (len(params) - 1)

    def sd(self) -> float:
        """The standard deviation of what `quantile` gives, from 2,000 places between 0 and 1."""
        return float(np.std(self.quantile((np.arange(2000) + 0.5) / 2000)))

    def shifted(self, by: float) -> "Spread":
        """The same spread with every value larger by a number."""
        return Spread(self.kind, tuple(number + by for number in self.params), self.source, self.share_cut)

    def stated(self) -> object:
        """As a scenario states it: a number or a table, without its source."""
        if self.kind == "constant":
            return self.params[0]
        if self.kind == "samples":
            return {"samples": list(self.params)}
        if self.kind == "quantiles":
            return dict(zip(("p10", "p50", "p90"), self.params, strict=True))
        return {**dict(zip(("low", "likely", "high"), self.params, strict=True)), "shape": self.kind}

    def quantile(self, u: Floats) -> Floats:
        """Values at the given probabilities: the inverse of the distribution function.

        Parameters
        ----------
        u : ndarray
            Probabilities, any shape; from 0 to 1, for a spread without bounds between them. [-]

        Returns
        -------
        ndarray
            Same shape; never falls as `u` rises.
        """
        if self._samples is not None:
            return _samples_quantile(self._samples, u)
        if self.kind == "quantiles":
            return _lognormal_quantile(self.params, self.share_cut + (1.0 - self.share_cut) * u)
        return _QUANTILE[self.kind](self.params, u)

    def describe(self) -> str:
        """The spread in words."""
        numbers = [f"{number:g}" for number in self.params]
        if self.kind == "constant":
            return numbers[0]
        if self.kind == "samples":
            return f"{len(numbers)} samples from {numbers[0]} to {numbers[-1]}, mean {self.mean():.4g}"
        if self.kind == "quantiles":
            sigma, _ = _lognormal(self.params)
            law = "normal" if sigma == 0 else "shifted lognormal" if sigma > 0 else "mirrored lognormal"
            return f"P10 {numbers[0]}, P50 {numbers[1]}, P90 {numbers[2]} ({law})"
        law = "beta-PERT" if self.kind == "pert" else "triangular"
        return f"{numbers[0]} to {numbers[2]}, likely {numbers[1]} ({law})"


def _finite(value: float) -> float:
    if not math.isfinite(value):
        raise ValueError(f"a finite number is needed, found {value}")
    return float(value)


def _ascending(first: float, second: float, third: float) -> tuple[float, float, float]:
    if not _finite(first) <= _finite(second) <= _finite(third) or first == third:
        raise ValueError(f"three ascending numbers are needed, found {first}, {second}, {third}")
    return float(first), float(second), float(third)


def _lognormal(params: tuple[float, ...]) -> tuple[float, float]:
    """Shape g and scale s of X = p50 + s (exp(g Z) - 1) through the three quantiles.

    From the three equations of the quantiles, exp(g z90) = (p90 - p50) / (p50 - p10); a ratio below 1 gives a
    negative g and s, which is the mirrored law. Shape 0 stands for the normal law and s for its p90 - p50.
    """
    p10, p50, p90 = params
    ratio = (p90 - p50) / (p50 - p10)
    # Rounding of decimal input must not turn a symmetric statement into a skewed one.
    if abs(ratio - 1) < 1e-9:
        return 0.0, p90 - p50
    return math.log(ratio) / Z90, (p90 - p50) / (ratio - 1)


def _z_of_zero(params: tuple[float, ...]) -> float:
    """Standard normal number at which a 'quantiles' spread that reaches below 0 passes 0."""
    sigma, scale = _lognormal(params)
    if sigma == 0:
        return -params[1] * Z90 / scale
    inside = 1 - params[1] / scale
    return math.log(inside) / sigma if inside > 0 else math.inf


def _lognormal_quantile(params: tuple[float, ...], u: Floats) -> Floats:
    from scipy.special import ndtri

    sigma, scale = _lognormal(params)
    z = np.asarray(ndtri(u), dtype=np.float64)
    if sigma == 0:
        return params[1] + (scale / Z90) * z
    return params[1] + scale * np.expm1(sigma * z)


def _constant_quantile(params: tuple[float, ...], u: Floats) -> Floats:
    return np.full(np.shape(u), params[0])


def _triangular_quantile(params: tuple[float, ...], u: Floats) -> Floats:
    low, likely, high = params
    rising = low + np.sqrt(u * ((high - low) * (likely - low)))
    falling = high - np.sqrt((1 - u) * ((high - low) * (high - likely)))
    return np.where(u * (high - low) < likely - low, rising, falling)


def _pert_quantile(params: tuple[float, ...], u: Floats) -> Floats:
    low, likely, high = params
    unit: Floats = np.interp(u, pert_knots(), pert_heights((likely - low) / (high - low)))
    return low + (high - low) * unit


def _samples_quantile(samples: Floats, u: Floats) -> Floats:
    last = samples.size - 1
    place = u * last
    below = np.minimum(place.astype(np.intp), last - 1)
    start: Floats = samples[below]
    step: Floats = samples[below + 1] - start
    return start + (place - below) * step


_QUANTILE: dict[str, Callable[[tuple[float, ...], Floats], Floats]] = {
    "constant": _constant_quantile,
    "triangular": _triangular_quantile,
    "pert": _pert_quantile,
}


@lru_cache(maxsize=1)
def pert_knots() -> Floats:
    """Probabilities from 0 to 1 at which every beta-PERT quantile function is tabled, (n_knots,)."""
    # A tail rises as a power of u as low as 1/5: only knots in equal ratios follow it.
    tail = np.geomspace(1e-19, 0.02, 600)
    lower = np.concatenate([[0.0], tail, np.linspace(0.02, 0.5, 320)[1:]])
    return np.concatenate([lower, np.unique(1 - lower)[1:]])


@lru_cache(maxsize=512)
def pert_heights(likely: float) -> Floats:
    """Values of the beta-PERT quantile function on [0, 1] at the knots, (n_knots,)."""
    from scipy.special import betaincinv

    a, b = 1 + PERT_WEIGHT * likely, 1 + PERT_WEIGHT * (1 - likely)
    knots = pert_knots()
    lower, upper = knots[knots <= 0.5], knots[knots > 0.5]
    heights = np.concatenate([betaincinv(a, b, lower), 1 - betaincinv(b, a, 1 - upper)])
    return np.maximum.accumulate(heights)
