"""What is kept of every trial that looks at the weeks ahead."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from towerpace.answers.ahead.fronts import Due, Groups
from towerpace.answers.estimates import LATER, or_later
from towerpace.answers.use.holding import Holding
from towerpace.draws import Draw
from towerpace.engine.diary import Diary
from towerpace.engine.openings import Openings
from towerpace.plan.site.tower import Tower
from towerpace.trials.outcome import Outcome
from towerpace.units import Ints


@dataclass(frozen=True)
class AheadMeasure:
    """Counts and minutes of the weeks ahead.

    edges : (n_days + 1,) midnights from the data date on. [min]
    places, needs : groups of steps, by what is done and by what is waited for. promises : what must be done.
    waits : step of each promise that must begin next, -1 where all of it has begun, (n_promises,).
    resources : numbers of the pools whose hours are booked.
    """

    tower: Tower
    edges: Ints
    places: Groups
    needs: Groups
    promises: tuple[Due, ...]
    waits: Ints
    resources: tuple[int, ...]

    def reader(self) -> AheadReader:
        """Prepare what is the same in every trial."""
        return AheadReader(self)


class AheadReader:
    """Reads diaries of one tower.

    Values of a trial: panels (n_days,) set each day; begun, done (n_places,), needed (n_needs,), kept
    (n_promises,) in minutes, LATER for what never came; enabler (n_promises,) step that lets the next step of
    a promise begin; busy (n_resources, n_days) unit-minutes in the resource's hours.
    """

    def __init__(self, measure: AheadMeasure) -> None:
        self._measure = measure
        self._holdings = [Holding(measure.tower.plan, pool) for pool in measure.resources]

    def __call__(self, draw: Draw, openings: Openings, diary: Diary) -> Outcome:
        """Results of one trial."""
        del openings
        asked = self._measure
        started, finished = or_later(diary.started), or_later(diary.finished)
        panels = finished[asked.tower.setting(draw.skip)]
        enabler = np.where(asked.waits < 0, asked.waits, diary.enabler[asked.waits])
        values = {
            "panels": np.diff(np.searchsorted(np.sort(panels), asked.edges, side="right")),
            "begun": asked.places.least(started),
            "done": asked.places.most(finished),
            "needed": asked.needs.least(started),
            "kept": np.array([due.done(started, finished, never=LATER) for due in asked.promises]),
            "enabler": enabler,
            "busy": np.array([one.of(draw, diary, edges=asked.edges).busy for one in self._holdings]),
        }
        return Outcome({name: np.asarray(value, dtype=np.int64) for name, value in values.items()}, {})
