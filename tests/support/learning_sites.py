"""Sites that obey the stated law, watched for a while: gangs that work off fronts, item by item.

The arithmetic of the truth is written anew here; only spreads and the form of the items are the program's.
"""

from dataclasses import dataclass

import numpy as np

from towerpace.answers.learn.items import Items, Stated
from towerpace.answers.learn.priors import (
    FRONT_NONE,
    FRONT_SD,
    SCATTER_SD,
    TAIL_SD,
    TAIL_SHARE,
    WRONG_SHARE,
    WRONG_TIMES,
)
from towerpace.scenario.spreads import Spread

SETTING = Spread.pert(low=20, likely=30, high=60)
PACE = Spread.pert(low=0.85, likely=1.0, high=1.4)
TYPICAL_MIN = float(np.exp(np.log(SETTING.quantile((np.arange(4000) + 0.5) / 4000)).mean()))
PANELS = 16  # of a front
COVERS = (0.5, 0.8, 0.9, 0.95)


@dataclass(frozen=True)
class Watch:
    """How a trade is watched.

    gangs : at work. until_min : open minutes watched. level : the true one; None: drawn from the stated pace.
    front_sd : true sd of the effect of a front; None: drawn from what is believed of it.
    scatter_sd : of the true ln scatter about 0. tail_share : chance of a level from the tail.
    wrong_share : chance of an item to be mistyped.
    """

    gangs: int
    until_min: float
    level: float | None = None
    front_sd: float | None = 0.0
    scatter_sd: float = 0.0
    tail_share: float = 0.0
    wrong_share: float = 0.0

    @classmethod
    def as_believed(cls, gangs, until_min):
        """Everything drawn from what is believed before the site shows anything."""
        return cls(gangs, until_min, None, None, SCATTER_SD, TAIL_SHARE, WRONG_SHARE)


def watched(watch, rng):
    """The true level of a site, and its items: the finished ones, and the last of every gang running."""
    level = watch.level or float(PACE.quantile(rng.random(1))[0])
    if watch.tail_share and rng.random() < watch.tail_share:
        level = stated_levels().mean() * np.exp(rng.normal(0, TAIL_SD))
    scatter = np.exp(rng.normal(0, watch.scatter_sd)) if watch.scatter_sd else 1.0
    front_sd = watch.front_sd
    if front_sd is None:
        front_sd = 0.0 if rng.random() < FRONT_NONE else abs(rng.normal(0, FRONT_SD))
    mean = SETTING.mean()
    keeps_mean = ((SETTING.quantile((np.arange(4000) + 0.5) / 4000) / mean) ** scatter).mean()
    low, high, fronts = [], [], []
    for gang in range(watch.gangs):
        clock, front, panels = 0.0, gang, 0
        while clock < watch.until_min:
            if panels % PANELS == 0:
                front += watch.gangs
                effect = np.exp(rng.normal(0, front_sd) - front_sd**2 / 2)
            drawn = float(SETTING.quantile(rng.random(1))[0])
            minutes = level * effect * mean * (drawn / mean) ** scatter / keeps_mean
            if watch.wrong_share and rng.random() < watch.wrong_share:
                minutes *= (drawn / TYPICAL_MIN) ** (scatter * (WRONG_TIMES - 1))
            panels, end = panels + 1, clock + minutes
            low.append(min(end, watch.until_min) - clock)
            high.append(low[-1] if end <= watch.until_min else np.inf)
            fronts.append(front)
            clock = end
    one = np.zeros(len(low), dtype=np.int64)
    return level, Items(
        (Stated.of([SETTING]),), one, one + 1.0, np.array(low), np.array(high), np.array(fronts)
    )


def stated_levels(spread=PACE):
    """The stated level at even probabilities, as a prior takes it."""
    return spread.quantile(np.linspace(0, 1, 2001))
