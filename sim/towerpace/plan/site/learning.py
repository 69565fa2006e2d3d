"""Learning: how much faster a trade is on a later front than on its first."""

from __future__ import annotations

from math import log2

import numpy as np

from towerpace.plan.site.fronts import Front
from towerpace.scenario.levels import Levels
from towerpace.scenario.schema import Learning


def unit_factor(unit: int, *, rate: float, plateau: int) -> float:
    """Time of a unit over the time of the first, on the unit (Crawford) learning curve. [-]

    unit : 1, 2, ... in planned order. rate : ratio for every doubling. plateau : unit from which it stays.

    Notes
    -----
    n ** log2(rate), the unit curve of Crawford (1944); not the cumulative average curve of Wright (1936).

    >>> round(unit_factor(10, rate=0.8, plateau=100), 4)
    0.4765
    """
    return float(min(unit, plateau) ** log2(rate))


def learned_factor(learning: Learning | None, front: Front, levels: Levels) -> float:
    """Minutes of a front over those of the first, by its place in planned order; 1 without learning. [-]

    With reset = "difficulty" the count begins anew at a front whose difficulty differs from the one before.
    """
    if learning is None:
        return 1.0
    unit = front.number + 1
    if learning.reset == "difficulty":
        in_order = levels.difficulty.ravel()[:unit]
        changes = np.flatnonzero(np.diff(in_order) != 0)
        unit -= int(changes[-1]) + 1 if changes.size else 0
    return unit_factor(unit, rate=float(learning.rate), plateau=learning.plateau_fronts)
