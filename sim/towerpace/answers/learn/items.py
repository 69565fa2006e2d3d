"""Items of work that the site has shown, beside what the scenario states of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from towerpace.scenario.spreads import Spread
from towerpace.units import Flags, Floats, Ints

POINTS = 400  # quantiles that stand for a stated law
LEAST_SCATTER = 0.02  # sd of ln minutes: where no scatter is stated, whole minutes and clocks still differ


@dataclass(frozen=True)
class Stated:
    """What the scenario states of the minutes of one kind of item, before pace and factors.

    mean_min : their mean. [min]
    logs : (n,) ln of their quantiles over the mean, at the middles of n equal shares. [-]
    name : how they are stated, for people.
    """

    mean_min: float
    logs: Floats
    name: str = ""

    @classmethod
    def of(
        cls, terms: Sequence[Spread], *, weights: Sequence[float] = (1.0,), fixed_min: float = 0.0
    ) -> Stated:
        """Of certain minutes and independent uncertain terms, each times its weight.

        One term keeps its own law; a sum of several is taken as lognormal with the same mean and sd.

        >>> round(Stated.of([Spread.triangular(low=20, likely=30, high=40)]).scatter, 3)
        0.139
        """
        u = (np.arange(POINTS) + 0.5) / POINTS
        weighed = [(w, term) for w, term in zip(weights, terms, strict=True) if w]
        mean_min = fixed_min + sum(w * term.mean() for w, term in weighed)
        name = ", ".join(dict.fromkeys(term.describe() for _, term in weighed))
        if len(weighed) == 1:
            logs = np.log((fixed_min + weighed[0][0] * weighed[0][1].quantile(u)) / mean_min)
            return cls(mean_min, logs, name)
        sd_min = sum((w * term.sd()) ** 2 for w, term in weighed) ** 0.5
        return cls.lognormal(mean_min, sd_min=sd_min, name=name)

    @classmethod
    def lognormal(cls, mean_min: float, *, sd_min: float, name: str = "") -> Stated:
        """Of lognormal minutes with a mean and a standard deviation. [min]"""
        from scipy.special import ndtri

        sd = float(np.sqrt(np.log1p((sd_min / mean_min) ** 2)))
        u = (np.arange(POINTS) + 0.5) / POINTS
        return cls(mean_min, sd * ndtri(u) - sd**2 / 2, name)

    @cached_property
    def scatter(self) -> float:
        """Standard deviation of ln minutes. [-]"""
        return max(float(self.logs.std()), LEAST_SCATTER)

    def shift(self, scatter: Floats) -> Floats:
        """Mean of ln(minutes / mean) where the scatter is so many times the stated one. [-]

        Minutes are mean (q / mean)^k c(k), in which c keeps the mean, so that with z = ln q - E ln q it is
        m(k) = -ln E exp(k z).
        """
        z = self.logs - self.logs.mean()
        shift: Floats = -np.log(np.exp(np.multiply.outer(scatter, z)).mean(axis=-1))
        return shift


@dataclass(frozen=True)
class Items:
    """Items of one trade, (n,) each.

    stated, of : what is stated, and which of it is that of each item.
    factor : units x difficulty x learning: minutes over those stated, at pace 1. [-]
    low, high : working minutes lie between them: equal where they are known, high infinite where the item is
        still in progress after so many, apart where it is known to the day only. [min]
    front : number of the front; minutes of one front go together.
    """

    stated: tuple[Stated, ...]
    of: Ints
    factor: Floats
    low: Floats
    high: Floats
    front: Ints

    def __len__(self) -> int:
        return len(self.of)

    @property
    def exact(self) -> Flags:
        """Whether the minutes are known, (n,)."""
        return np.asarray(self.low == self.high)

    @property
    def running(self) -> Flags:
        """Whether an item is still in progress, (n,)."""
        return np.isinf(self.high)

    @cached_property
    def scatter(self) -> Floats:
        """Stated standard deviation of ln minutes of each, (n,). [-]"""
        return np.array([stated.scatter for stated in self.stated])[self.of]

    def log_ratio(self, minutes: Floats) -> Floats:
        """Logarithm of minutes over those stated, (n,); minus infinity where none have passed. [-]"""
        means = np.array([stated.mean_min for stated in self.stated])[self.of]
        with np.errstate(divide="ignore"):
            ratio: Floats = np.log(minutes / (self.factor * means))
        return ratio

    def shifts(self, scatter: Floats) -> Floats:
        """Means of ln(minutes / mean) of each item at each scatter, (n, n_scatters). [-]"""
        return np.stack([stated.shift(scatter) for stated in self.stated])[self.of]

    def taken(self, which: Flags) -> Items:
        """Some of the items."""
        of, factor, front = self.of[which], self.factor[which], self.front[which]
        return Items(self.stated, of, factor, self.low[which], self.high[which], front)
