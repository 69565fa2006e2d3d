"""What one set-up gains over another on common trials: days, days of the P80, money."""

from __future__ import annotations

import numpy as np

from towerpace.answers.choice.compare import in_days
from towerpace.answers.choice.lab import Lab
from towerpace.answers.choice.paired import (
    Difference,
    paired_difference,
    percentile_difference,
    skewed_difference,
)
from towerpace.answers.cost import PARTS
from towerpace.answers.estimates import LATER
from towerpace.draws import stream
from towerpace.scenario.setups import SetUp
from towerpace.units import DAY_MIN


def difference(
    own: SetUp, base: SetUp, n: int, *, lab: Lab, seed: int
) -> tuple[Difference | None, Difference | None, Difference | None]:
    """Days, days of the P80, and money of one set-up less another over n common trials."""
    finish, cost = lab.results([own, base], n)
    if np.any(finish == LATER):
        return None, None, None
    days = skewed_difference(*(finish / DAY_MIN), rng=stream(seed, 0, "bootstrap of the mean"))
    p80 = percentile_difference(finish[0], finish[1], 0.8, rng=stream(seed, 0, "bootstrap"))
    money = None
    if own.scenario.settings.cost is not None and base.scenario.settings.cost is not None:
        money = skewed_difference(*(cost / PARTS), rng=stream(seed, 0, "bootstrap of the cost"))
    return days, None if p80 is None else in_days(p80), money


def mean_days(setup: SetUp, at: SetUp, n: int, *, lab: Lab) -> Difference | None:
    """Mean days of a set-up against another over trials that both have; None beyond the horizon. [d]"""
    finish, _ = lab.results([setup, at], n)
    if n < 2 or np.any(finish == LATER):
        return None
    own, other = finish / DAY_MIN
    return paired_difference(own, other)
