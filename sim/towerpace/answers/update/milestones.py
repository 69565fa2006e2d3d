"""What an update keeps of every trial: dates alone, for of the past nobody knows why it waited."""

from __future__ import annotations

from dataclasses import dataclass

from towerpace.answers.measures import milestones_of
from towerpace.draws import Draw
from towerpace.engine.diary import Diary
from towerpace.engine.openings import Openings
from towerpace.plan.site.tower import Tower
from towerpace.trials.outcome import Outcome


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
        return Outcome(milestones_of(self.tower, diary), sums={})
