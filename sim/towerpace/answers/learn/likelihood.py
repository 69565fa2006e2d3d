"""How well levels, scatters and front effects explain the items of a trade, in closed form over a grid.

The minutes of item i over those stated have the logarithm ln L + m(k) + b - tau^2 / 2 + k s_i e: L the level,
k the scatter, b the effect of its front, normal with sd tau, s_i the stated sd, and e standard normal. The
effects are taken out in closed form, so that known minutes enter by their sums over fronts.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from towerpace.answers.learn.items import Items
from towerpace.answers.learn.priors import WRONG_TIMES
from towerpace.units import Floats, Ints


@dataclass(frozen=True)
class Cells:
    """Middles of the cells of a grid: ln level (L,), scatter (K,), sd of the front effect (T,). [-]"""

    level: Floats
    scatter: Floats
    front: Floats


class FrontSums:
    """Sums over the known minutes of each front.

    doubt : (n,) variance of each known item over the stated one; more than 1 where it looks mistyped. [-]
    """

    def __init__(self, items: Items, *, scatter: Floats, doubt: Floats) -> None:
        self.fronts, number = np.unique(items.front, return_inverse=True)
        self._scatter, n = scatter, len(self.fronts)
        rest = items.log_ratio(items.low)[:, None] - items.shifts(scatter)
        precision = 1 / (items.scatter**2 * doubt)
        self.weight = np.bincount(number, precision, minlength=n)[:, None]
        self.first = _by_front(number, precision[:, None] * rest, n=n)
        self.second = _by_front(number, precision[:, None] * rest**2, n=n)
        self._logs = 0.5 * float(np.log(precision).sum()) - len(items) * np.log(scatter)

    def level_terms(self, front: Floats) -> tuple[Floats, Floats, Floats, Floats]:
        """The terms a, c0, c1, c2 of ln likelihood a - (c0 - 2 c1 x + c2 x^2) / 2, (K, T) each.

        x = ln L - tau^2 / 2. The minutes of a front are compound-symmetric normal: by Woodbury's identity the
        inverse of their covariance is that of the scatter alone, less g = tau^2 / (1 + tau^2 w) times squares
        of sums.
        """
        weight = self.weight / self._scatter**2  # (F, K)
        first, second = self.first / self._scatter**2, self.second / self._scatter**2
        spread = 1 + np.multiply.outer(weight, front**2)  # (F, K, T)
        g = front**2 / spread
        a = self._logs[:, None] - 0.5 * np.log(spread).sum(axis=0)
        c0 = second.sum(axis=0)[:, None] - np.einsum("fk,fkt->kt", first**2, g)
        c1 = first.sum(axis=0)[:, None] - np.einsum("fk,fkt->kt", first * weight, g)
        c2 = weight.sum(axis=0)[:, None] - np.einsum("fk,fkt->kt", weight**2, g)
        return a, c0, c1, c2

    def effect(self, front: int, at: Cells) -> tuple[Floats, Floats]:
        """Mean (L, K, T) and variance (K, T) of the effect of one front, given its known minutes."""
        place = int(np.searchsorted(self.fronts, front))
        if place == len(self.fronts) or self.fronts[place] != front:
            variance = np.broadcast_to(at.front**2, (len(at.scatter), len(at.front)))
            return np.zeros((1, 1, 1)), variance
        weight, first = self.weight[place] / self._scatter**2, self.first[place] / self._scatter**2
        variance = at.front**2 / (1 + np.multiply.outer(weight, at.front**2))
        x = at.level[:, None] - at.front**2 / 2  # (L, T)
        rest = first[None, :, None] - weight[None, :, None] * x[:, None, :]
        return variance * rest, variance


@dataclass(frozen=True)
class Likelihood:
    """ln likelihood of the items of a trade over the cells of a grid.

    doubt : (n_exact,) as in `FrontSums`. wrong_share : of items with a typing error. [-]
    """

    items: Items
    doubt: Floats
    wrong_share: float

    @cached_property
    def known(self) -> Items:
        """Items with known minutes."""
        return self.items.taken(self.items.exact)

    @cached_property
    def bounded(self) -> Items:
        """Items of which only bounds are known: in progress, or known to the day."""
        return self.items.taken(~self.items.exact)

    def over(self, at: Cells) -> Floats:
        """(L, K, T), but for a constant."""
        sums = FrontSums(self.known, scatter=at.scatter, doubt=self.doubt)
        a, c0, c1, c2 = sums.level_terms(at.front)
        x = (at.level[:, None] - at.front**2 / 2)[:, None, :]
        total: Floats = a - 0.5 * (c0 - 2 * c1 * x + c2 * x**2)
        return total + self._of_bounded(sums, at)

    def _of_bounded(self, sums: FrontSums, at: Cells) -> Floats:
        """Chance of what lies between bounds, given the known minutes of its front.

        Several such items of one front are taken as independent, given those.
        """
        items, total = self.bounded, np.zeros((len(at.level), len(at.scatter), len(at.front)))
        shifts, low, high = items.shifts(at.scatter), items.log_ratio(items.low), items.log_ratio(items.high)
        x = (at.level[:, None] - at.front**2 / 2)[:, None, :]
        for i, front in enumerate(items.front.tolist()):
            mean, variance = sums.effect(front, at)
            centre = x + shifts[i][:, None] + mean
            own = (at.scatter * items.scatter[i])[:, None] ** 2
            right = _between(low[i], high[i], centre, np.sqrt(own + variance))
            wrong = _between(low[i], high[i], centre, np.sqrt(WRONG_TIMES**2 * own + variance))
            chance = (1 - self.wrong_share) * right + self.wrong_share * wrong
            total += np.log(np.maximum(chance, np.finfo(float).tiny))
        return total


def _between(low: float, high: float, mean: Floats, sd: Floats) -> Floats:
    from scipy.special import ndtr

    below_high = ndtr((mean - low) / sd)
    return below_high if np.isinf(high) else below_high - ndtr((mean - high) / sd)


def _by_front(number: Ints, values: Floats, *, n: int) -> Floats:
    """Sums of rows by the front they belong to, (n, columns)."""
    sums = np.zeros((n, values.shape[1]))
    np.add.at(sums, number, values)
    return sums
