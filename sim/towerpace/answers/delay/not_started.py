"""What waited on the site though nothing that the record shows held it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from towerpace.answers.delay.played import SitePlayed
from towerpace.answers.ledger.book import Ledger
from towerpace.answers.ledger.past import NOT_STARTED
from towerpace.draws import Draw
from towerpace.engine.diary import Diary
from towerpace.engine.openings import Openings
from towerpace.plan.site.tower import Tower
from towerpace.trials.outcome import Outcome
from towerpace.units import HOUR_MIN


@dataclass(frozen=True)
class NotStarted:
    """Minutes of every trade that nothing explains. tower : with the plan before it was cut."""

    tower: Tower

    def reader(self) -> NotStartedReader:
        """Prepare what is the same in every trial."""
        return NotStartedReader(self.tower)


class NotStartedReader:
    """Reads diaries. Values of a trial: not_started (n_rows,), by row of the ledger. [min]"""

    def __init__(self, tower: Tower) -> None:
        self._ledger = Ledger(tower, seen=True)
        self._column = self._ledger.causes.index(NOT_STARTED)

    def __call__(self, draw: Draw, openings: Openings, diary: Diary) -> Outcome:  # noqa: ARG002  one interface
        """Results of one trial."""
        book, _, _ = self._ledger.booked(draw, diary)
        return Outcome({"not_started": book[:, :, self._column].sum(axis=1)}, sums={})


def not_started_h(site: SitePlayed) -> dict[str, float]:
    """Mean hours of a trial by row of the ledger, those that have any. [h]"""
    tower = replace(site.state.ready.tower, plan=site.known.plan)
    outcomes = site.how.play(site.chooser(site.known.until), NotStarted(tower))
    hours = np.asarray(outcomes.values["not_started"]).mean(axis=0) / HOUR_MIN
    rows = Ledger(tower, seen=True).rows
    return {name: float(h) for name, h in zip(rows, hours, strict=True) if round(float(h), 1)}
