"""What a site has taught about the paces of its trades, as the draws of a trial read it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from towerpace.lots.streams import Streams
from towerpace.plan.arrays import NONE, PlanArrays
from towerpace.units import Floats, Ints


class LearnedPace(Protocol):
    """What is known of one trade: each number at a probability. [-]"""

    def quantile(self, u: Floats | float) -> Floats:
        """Its pace, with all that hinders the trade for a whole trial."""

    def scatter(self, u: Floats | float) -> Floats:
        """How many times the stated one the scatter of its minutes is, on the log scale."""

    def front_sd(self, u: Floats | float) -> Floats:
        """Standard deviation of ln minutes that the items of a front have in common."""


@dataclass(frozen=True)
class LearnedPaces:
    """Trades of which something has been learned; the others are drawn as stated.

    paces : by trade. front : (n,) number of the front of each step of the plan, from 0; -1 for none.
    """

    paces: Mapping[str, LearnedPace]
    front: Ints

    def scatter(self, trade: str, streams: Streams) -> float:
        """Scatter of a trade in one trial, over the stated one. [-]"""
        return float(self.paces[trade].scatter(streams(f"scatter of {trade}").random()))

    def front_factors(self, trade: str, steps: Ints, streams: Streams) -> Floats:
        """Factor on the minutes of some steps in one trial, of mean 1 and the same on a front, (k,). [-]"""
        fronts = self.front[steps]
        sd = float(self.paces[trade].front_sd(streams(f"sd of fronts of {trade}").random()))
        scores = streams(f"fronts of {trade}").standard_normal(int(self.front.max(initial=-1)) + 1)
        factors: Floats = np.exp(sd * scores[fronts] - sd**2 / 2)
        return np.where(fronts >= 0, factors, 1.0)


def scattered(minutes: Floats, *, mean: Floats, log_variance: Floats, scatter: float) -> Floats:
    """Minutes whose scatter on the log scale is so many times as large, and their mean the same, (k,). [min]

    mean : of the minutes as stated. [min]  log_variance : of a lognormal law with their mean and sd. [-]
    scatter : over the stated one. [-]

    Notes
    -----
    mean (x / mean)^k / E(x / mean)^k, the last for a lognormal law: exp(s^2 (k^2 - k) / 2).

    >>> scattered(np.array([20.0, 45.0]), mean=np.full(2, 30.0), log_variance=np.zeros(2), scatter=2.0)
    array([13.33333333, 67.5       ])
    """
    usual = np.where(mean > 0, mean, 1.0)
    keeps_mean = np.exp(-log_variance * (scatter**2 - scatter) / 2)
    return np.where(mean > 0, usual * (minutes / usual) ** scatter * keeps_mean, minutes)


def front_numbers(plan: PlanArrays) -> Ints:
    """Number of the front of each step, from 0, (n,); -1 for what has none."""
    fronts = dict.fromkeys((tags.level, tags.zone) for tags in plan.tag_table if tags.zone)
    number = {front: k for k, front in enumerate(fronts)}
    return plan.by_tags(lambda tags: number.get((tags.level, tags.zone), NONE))
