"""Kinds of items of a trade that do not go with the others, as they are stated."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from towerpace.answers.learn.items import Items
from towerpace.answers.learn.posterior import Learned

BAND = 0.99  # of what right statements give
FEWEST = 5  # items that are judged


@dataclass(frozen=True)
class Odd:
    """A kind of items outside its band.

    stated : how its minutes are stated. items : with known minutes.
    ratio : of its minutes to those that its trade's level says. [-]
    """

    stated: str
    items: int
    ratio: float


def odd_items(items: Items, learned: Learned) -> tuple[Odd, ...]:
    """The kinds whose ln minutes lie outside their 99 % band about the level of the trade.

    The variance of the mean of n items on f fronts is (k s)^2 / n + tau^2 / f + that of ln level. The only
    kind of a trade is its level, and never outside.
    """
    from scipy.special import ndtri

    known = items.taken(items.exact)
    scatter, tau = np.exp(learned.spread.mean()), learned.front.mean()
    shifts = known.shifts(np.array([scatter]))[:, 0]
    rest = known.log_ratio(known.low) - shifts - learned.level.mean() + tau**2 / 2
    found = []
    for number, stated in enumerate(known.stated):
        own = known.of == number
        n = int(own.sum())
        if n < FEWEST or n == len(known):
            continue
        fronts = len(np.unique(known.front[own]))
        variance = (scatter * stated.scatter) ** 2 / n + tau**2 / fronts + learned.level.variance()
        away = float(np.median(rest[own]))
        if abs(away) > ndtri((1 + BAND) / 2) * variance**0.5:
            found.append(Odd(stated.name, n, float(np.exp(away))))
    return tuple(found)
