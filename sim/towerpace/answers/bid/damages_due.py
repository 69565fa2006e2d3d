"""Damages that a bid must carry: expected, at P80, and how often any fall due."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from towerpace.answers.cost import PARTS
from towerpace.answers.estimates import LATER, Chance, chance, percentile
from towerpace.answers.forecast import Forecast
from towerpace.answers.rare import RareMean, mean_of_rare
from towerpace.units import Ints

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
    expected: RareMean | None
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


def _mean(parts: Ints) -> RareMean | None:
    if len(parts) < 2 or np.any(parts == LATER):
        return None
    return mean_of_rare(parts / PARTS)
