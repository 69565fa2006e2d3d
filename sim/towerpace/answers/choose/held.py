"""A set-up held against another on common trials: days, days of P80, money, and the chance of a date."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from towerpace.answers.choice.compare import in_days
from towerpace.answers.choice.paired import Difference, percentile_difference, skewed_difference
from towerpace.answers.choose.goal import P80, Goal, Sample
from towerpace.answers.choose.space import Point
from towerpace.answers.cost import PARTS
from towerpace.answers.estimates import LATER, Chance, chance
from towerpace.draws import stream
from towerpace.units import DAY_MIN


@dataclass(frozen=True)
class Held:
    """What a set-up does beside another, less without.

    days : of the finish. p80_days : of its P80. money : of the cost; None where unknown. met, other_met :
    chance of the date of both, None without one. n : common trials.
    """

    point: Point
    sample: Sample
    days: Difference | None
    p80_days: Difference | None
    money: Difference | None
    met: Chance | None
    other_met: Chance | None

    @property
    def n(self) -> int:
        """Trials behind the differences."""
        return len(self.sample)


def held(point: Point, own: Sample, other: Sample, *, goal: Goal, seed: int, is_priced: bool) -> Held:
    """One set-up against another over the trials that both have."""
    n = min(len(own), len(other))
    mine, others = own.first(n), other.first(n)
    met, other_met = (
        None if goal.due is None else chance(sample.finish <= goal.due) for sample in (mine, others)
    )
    if np.any(mine.finish == LATER) or np.any(others.finish == LATER):
        return Held(point, mine, None, None, None, met, other_met)
    days = skewed_difference(
        mine.finish / DAY_MIN, others.finish / DAY_MIN, rng=stream(seed, 0, "bootstrap of the mean")
    )
    p80 = percentile_difference(mine.finish, others.finish, P80, rng=stream(seed, 0, "bootstrap"))
    money = None
    if is_priced:
        rng = stream(seed, 0, "bootstrap of the cost")
        money = skewed_difference(mine.cost / PARTS, others.cost / PARTS, rng=rng)
    return Held(point, mine, days, None if p80 is None else in_days(p80), money, met, other_met)
