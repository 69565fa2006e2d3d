"""A small wharf of known paces and scatters, watched until it is finished, and its log as files."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from pathlib import Path

import numpy as np

from support.foreman import MADE
from towerpace.answers.learn.priors import FRONT_NONE, FRONT_SD, SCATTER_SD
from towerpace.answers.prepare import Prepared
from towerpace.plan.chance import Known
from towerpace.plan.learned import LearnedPaces, front_numbers
from towerpace.record.moments import shown_minute
from towerpace.record.words import CRATES_UP


@dataclass(frozen=True)
class Truth:
    """What a trade of a site truly is: level, scatter over the stated one, sd of what fronts share. [-]"""

    level: float
    spread: float = 1.0
    front: float = 0.0

    def quantile(self, u):
        """The level, whatever the probability."""
        return np.full(np.shape(u), self.level)

    def scatter(self, u):
        """The scatter."""
        return np.full(np.shape(u), self.spread)

    def front_sd(self, u):
        """The effect of fronts."""
        return np.full(np.shape(u), self.front)


def believed(ready: Prepared, rng: np.random.Generator) -> dict[str, Truth]:
    """Truths of all trades as they are believed to be before a site has shown anything, without the tail."""
    truths = {}
    for name in ready.tower.trades:
        pace = ready.scenario.settings.trade[name].pace
        front = 0.0 if rng.random() < FRONT_NONE else abs(rng.normal(0, FRONT_SD))
        level = float(pace.quantile(rng.random(1))[0])
        truths[name] = Truth(level, float(np.exp(rng.normal(0, SCATTER_SD))), front)
    return truths


class LoggedSite:
    """One trial under such truths, to its end."""

    def __init__(self, ready: Prepared, *, seed: int, trial: int, truths: Mapping[str, Truth]) -> None:
        paces = LearnedPaces(truths, front_numbers(ready.tower.plan))
        draw = replace(ready.chooser, known=Known(learned=paces)).draw(seed, trial)
        self.site = MADE.Site(ready.scenario, ready, draw, of=(seed, trial))

    @property
    def last(self) -> date:
        """The day of its finish."""
        return self.site.tower.start + timedelta(days=int(self.site.diary.finish) // 1440)

    def write(self, folder: Path) -> dict[str, Path]:
        """The log with every hoist trip of a crate, and the wind, as arguments of `rates`."""
        rows = [*MADE.log_rows(self.site, self.site.tower.start, self.last), *self._trips()]
        return {
            "log": MADE.write(folder, "log", rows),
            "wind": MADE.write(folder, "wind", MADE.wind_rows(self.site, self.last)),
        }

    def _trips(self):
        diary, start = self.site.diary, self.site.tower.start
        for place in self.site.words.places_of(CRATES_UP):
            for crate, step in enumerate(self.site.steps(place), start=1):
                times = [
                    shown_minute(int(minutes[step]), start=start)
                    for minutes in (diary.started, diary.finished)
                ]
                yield [*place, crate, *times, "Ann Example", None, "as told by Ann Example"]
