"""Which fronts may be open in a week: what the foreman is asked about."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Executor
from dataclasses import dataclass
from datetime import date

import numpy as np

from towerpace.answers.prepare import Prepared
from towerpace.draws import Draw
from towerpace.engine.diary import Diary
from towerpace.engine.openings import Openings
from towerpace.record.amounts import Amount
from towerpace.record.moments import end_of
from towerpace.record.places_steps import steps_of
from towerpace.record.site_record import SiteRecord
from towerpace.record.step_index import index_of
from towerpace.record.words import How, Place, Words
from towerpace.trials.job import Job
from towerpace.trials.outcome import Outcome
from towerpace.trials.run import run_trials
from towerpace.units import WEEK_MIN, Ints

# A front is asked about if it is open in one trial of twenty; rarer ones would double the sheet.
LEAST_CHANCE = 0.05


@dataclass(frozen=True)
class OpenFront:
    """A place that may be open in the week.

    total : its units. chance : share of the trials in which it is; 1 if it is known to be. [-]
    last : what was reported last, and when.
    """

    place: Place
    how: How
    total: float
    chance: float
    last: Amount | None = None
    last_day: date | None = None


@dataclass(frozen=True)
class OpenFronts:
    """The places that may be open in the week that ends with a day. trials : that were played."""

    ready: Prepared
    day: date
    fronts: tuple[OpenFront, ...]
    trials: int
    asked: int
    seed: int


@dataclass(frozen=True)
class OpenMeasure:
    """Counts in how many trials each place is open in a span.

    groups : steps of each place, one behind the other. first : where each begins. since, until : [min].
    """

    groups: Ints
    first: Ints
    since: int
    until: int

    def reader(self) -> OpenMeasure:
        """Nothing is prepared."""
        return self

    def __call__(self, draw: Draw, openings: Openings, diary: Diary) -> Outcome:  # noqa: ARG002  one interface
        """Which places are open in one trial: begun before the span ends, not finished before it begins."""
        never = np.iinfo(np.int64).max
        started, finished = (times[self.groups].astype(np.int64) for times in (diary.started, diary.finished))
        begun = np.minimum.reduceat(np.where(started < 0, never, started), self.first)
        done = np.maximum.reduceat(np.where(finished < 0, never, finished), self.first)
        is_open = (begun < self.until) & (done >= self.since)
        return Outcome(values={}, sums={"open": is_open.astype(np.int64)})


def open_fronts(
    ready: Prepared,
    *,
    day: date,
    trials: int,
    seed: int,
    record: SiteRecord | None = None,
    workers: int = 1,
    executor: Executor | None = None,
    on_done: Callable[[int], None] = lambda _: None,
) -> OpenFronts:
    """Places that may be open in the seven days up to the end of a day.

    record : what is reported already: what is done is left out, what is in progress is kept.
    """
    tower, index = ready.tower, index_of(ready.tower.plan)
    words = record.words if record is not None else Words.of(ready.scenario, tower, index)
    steps = {place: found for place in words.totals if (found := steps_of(place, tower, index))}
    sizes = np.array([len(some) for some in steps.values()], dtype=np.int64)
    until = end_of(day, start=tower.start)
    measure = OpenMeasure(
        groups=np.concatenate([np.array(some, dtype=np.int64) for some in steps.values()]),
        first=np.cumsum(sizes) - sizes,
        since=until - WEEK_MIN,
        until=until,
    )
    job = Job(ready.chooser, measure, seed)
    played = run_trials(job, trials=trials, workers=workers, executor=executor, on_done=on_done)
    chances = (played.outcomes.sums["open"] / played.outcomes.n).tolist()
    fronts = [
        front
        for place, chance in zip(steps, chances, strict=True)
        if (front := _front(place, chance, words, record)) is not None
    ]
    return OpenFronts(ready, day, tuple(fronts), played.outcomes.n, trials, seed)


def _front(place: Place, chance: float, words: Words, record: SiteRecord | None) -> OpenFront | None:
    """The place as it is asked about; None if it is done, or will hardly be open."""
    how, total = words.words[place.what].how, words.totals[place]
    report = None if record is None else record.progress.latest().get(place)
    if report is None:
        return OpenFront(place, how, total, chance) if chance >= LEAST_CHANCE else None
    if report.amount.whole or (chance < LEAST_CHANCE and not report.amount.units):
        return None
    known = 1.0 if report.amount.units else chance
    return OpenFront(place, how, total, known, report.amount, report.day)
