"""What an update keeps of every trial: dates alone, for of the past nobody knows why it waited."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from towerpace.answers.estimates import LATER
from towerpace.draws import Draw
from towerpace.engine.diary import NEVER, Diary
from towerpace.engine.openings import Openings
from towerpace.plan.site.tower import Tower
from towerpace.trials.outcome import Outcome
from towerpace.units import Ints


@dataclass(frozen=True)
class Milestones:
    """Finish, handover, closing-in, and when each trade begins and is done on each level.

    Values of a trial as `ForecastReader` has them. [min]
    """

    tower: Tower

    def reader(self) -> Milestones:
        """Nothing is prepared."""
        return self

    def __call__(self, draw: Draw, openings: Openings, diary: Diary) -> Outcome:  # noqa: ARG002  one interface
        """Results of one trial."""
        tower, started, finished = self.tower, diary.started, diary.finished
        by_level = (len(tower.trades), len(tower.levels), len(tower.zones))
        values = {
            "finish": np.int64(LATER if diary.finish is None else diary.finish),
            "handover": _or_later(finished[tower.handover]),
            "closing_in": _or_later(finished[tower.closing_in]),
            "begun": _or_later(started[tower.first]).reshape(by_level).min(axis=2),
            "done": _or_later(finished[tower.last]).reshape(by_level).max(axis=2),
        }
        return Outcome({k: np.asarray(v, dtype=np.int64) for k, v in values.items()}, sums={})


def _or_later(stamps: NDArray[np.int32]) -> Ints:
    return np.where(stamps == NEVER, LATER, stamps.astype(np.int64))
