"""What an update keeps of every trial: dates alone, for of the past nobody knows why it waited."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from towerpace.answers.measures import OnceStamps, milestones, milestones_of
from towerpace.draws import Draw
from towerpace.engine.diary import Diary
from towerpace.engine.kernel.block import Block
from towerpace.engine.openings import Openings
from towerpace.plan.site.tower import Tower
from towerpace.trials.kept import Kept
from towerpace.trials.outcome import BlockReader, Outcome, Outcomes


@dataclass(frozen=True)
class Milestones:
    """Finish, handover, closing-in, begin and end of each trade on each level, and what happens once."""

    tower: Tower

    def reader(self) -> MilestonesReader:
        """Prepare what is the same in every trial."""
        return MilestonesReader(self.tower)


class MilestonesReader:
    """Reads diaries of one tower; values of a trial as `ForecastReader` has them. [min]"""

    def __init__(self, tower: Tower) -> None:
        self._tower, self._once = tower, OnceStamps(tower)

    def __call__(self, draw: Draw, openings: Openings, diary: Diary) -> Outcome:  # noqa: ARG002  one interface
        """Results of one trial."""
        return Outcome(
            {**milestones_of(self._tower, diary), **self._once.of(diary.started, diary.finished)}, sums={}
        )

    def in_blocks(self, block: Block) -> BlockReader:
        """Reads many trials at once, with the same results."""

        def read(draws: Sequence[Draw]) -> Outcomes:
            block.play(draws)
            n = len(draws)
            started, finished = block.started[:n], block.finished[:n]
            once = self._once.of(started, finished)
            return Outcomes(n, Kept.of({**milestones(self._tower, started, finished), **once}), {})

        return read
