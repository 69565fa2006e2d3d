"""Damages that a bid must carry: expected, at P80, and how often any fall due."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from towerpace.answers.bid.drivers import Estimate
from towerpace.answers.cost import PARTS
from towerpace.answers.estimates import LATER, Chance, chance, percentile
from towerpace.answers.forecast import Forecast
from towerpace.units import Floats, Ints

ITEM = "damages "
ALL = "all"


@dataclass(frozen=True)
class DamagesDue:
    """Damages of one contract date, or of all together, over the trials, in the unit of money.

    expected : mean with its 95 % interval, None with trials beyond the horizon. p80 : None if that is beyond
    it too. any : chance that some fall due.
    """

    name: str
    unit: str
    expected: Estimate | None
    p80: float | None
    any: Chance


def damages_of(forecast: Forecast) -> Iterator[DamagesDue]:
    """Damages of each contract date that has some, and of all together; nothing without costs."""
    if forecast.costs is None:
        return
    items, found = forecast.costs.items, forecast.outcomes.values["cost"]
    columns = {name.removeprefix(ITEM): found[:, k] for k, name in enumerate(items) if name.startswith(ITEM)}
    if len(columns) > 1:
        every = np.array(list(columns.values()))
        columns[ALL] = np.where((every == LATER).any(axis=0), LATER, every.sum(axis=0))
    for name, parts in columns.items():
        most = percentile(parts, 0.8).value
        yield DamagesDue(
            name,
            forecast.costs.unit,
            _mean(parts),
            None if most is None else most / PARTS,
            chance(parts > 0),
        )


def _mean(parts: Ints) -> Estimate | None:
    if len(parts) < 2 or np.any(parts == LATER):
        return None
    return mean_of_rare(parts / PARTS)


def mean_of_rare(money: Floats) -> Estimate:
    """Mean of (n,) amounts of which most may be 0, with a 95 % interval made for rare, skewed ones.

    The interval has no ends, nan, where no amount is due: how dear one would be is then unknown.

    Notes
    -----
    Gamma interval for a sum of weighted rare counts: the mean is gamma distributed with its own mean and
    variance, and for the upper end one more amount as dear as the dearest is added. The variance is that of
    the sample about its mean, so that amounts due in every trial come near the normal interval.
    With a handful of exponential amounts it covers less than it says (86 % at 3 in 100, where Student's t
    covers 74 %), as the dearest seen is not the dearest there is.
    Source: Fay & Feuer (1997), Statistics in Medicine 16: 791-801 (from memory).
    """
    from scipy.stats import gamma

    n, mean, dearest = len(money), float(money.mean()), float(money.max()) / len(money)
    spread = float(money.var(ddof=1)) / n
    if dearest == 0:
        return Estimate(0.0, float("nan"), float("nan"))
    if spread == 0:
        return Estimate(mean, mean, mean)
    wide, more = spread + dearest**2, mean + dearest
    low = float(gamma.ppf(0.025, mean**2 / spread, scale=spread / mean))
    return Estimate(mean, low, float(gamma.ppf(0.975, more**2 / wide, scale=wide / more)))
