"""The forecast from what is built: before and now, what moved it, and its trend over the data dates."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures import Executor
from dataclasses import dataclass
from datetime import date

import numpy as np

from towerpace.answers.estimates import LATER
from towerpace.answers.forecast import Forecast
from towerpace.answers.prepare import Prepared
from towerpace.answers.update.milestones import Milestones
from towerpace.answers.update.site_state import SiteState, as_planned_times, chooser_of, site_state
from towerpace.draws import Chooser
from towerpace.record.site_record import SiteRecord
from towerpace.trials.run import Job, played
from towerpace.units import DAY_MIN, Floats

START, PROGRESS, WEATHER, LEARNED, SCENARIO = "before", "progress", "weather", "learned", "scenario"


@dataclass(frozen=True)
class Stage:
    """The forecast with one thing more known than in the stage before it, on the same draws."""

    name: str
    forecast: Forecast


@dataclass(frozen=True)
class TrendPoint:
    """The forecast as it was at one data date; None for the start."""

    day: date | None
    forecast: Forecast


@dataclass(frozen=True)
class Updated:
    """An update.

    state : what is known of the site now. stages : from before to now. trend : from the start to now.
    """

    state: SiteState
    stages: tuple[Stage, ...]
    trend: tuple[TrendPoint, ...]

    @property
    def before(self) -> Forecast:
        """The forecast before this update."""
        return self.stages[0].forecast

    @property
    def now(self) -> Forecast:
        """The forecast from all that is known."""
        return self.stages[-1].forecast

    def moved_days(self, stage: int) -> Floats:
        """By how much a stage moved the finish of each trial that finished in both, (k,). [d]"""
        one, other = (self.stages[k].forecast.finish for k in (stage - 1, stage))
        both = (one != LATER) & (other != LATER)
        days: Floats = (other[both] - one[both]) / DAY_MIN
        return days


@dataclass
class Player:
    """Plays the trials of one update, all under one seed."""

    trials: int
    seed: int
    executor: Executor | None = None
    on_done: Callable[[int], None] = lambda _: None

    def play(self, ready: Prepared, chooser: Chooser) -> Forecast:
        """The forecast of one chooser."""
        job = Job(chooser, Milestones(ready.tower), self.seed)
        outcomes = played(job, trials=self.trials, executor=self.executor, on_done=self.on_done)
        return Forecast(ready.scenario, ready.tower, ready.days, self.seed, self.trials, outcomes, (), ())


@dataclass(frozen=True)
class Since:
    """What an update goes on from: the scenario of the last one, and its data date; None for a forecast.

    record : the record as that scenario reads it, up to now.
    """

    ready: Prepared
    record: SiteRecord
    day: date | None


def forecasts_of(record: SiteRecord) -> int:
    """How many forecasts an update plays: its stages, and the data dates before the last."""
    return 4 + max(len(record.progress.days) - 1, 0)


def update(
    ready: Prepared, record: SiteRecord, player: Player, *, learn: bool = True, since: Since | None = None
) -> Updated:
    """Go on from a record: the stages of its last data date, and the forecast of every date before.

    learn : whether paces are learned. since : what "before" is; without it the start.
    """
    planned = as_planned_times(ready)
    state = site_state(ready, record, planned=planned, learn=learn)
    stages = list(_stages(state, player, learn=learn, since=since))
    start = stages[0].forecast if since is None else player.play(ready, ready.chooser)
    trend = [TrendPoint(None, start)]
    for day in record.progress.days[:-1]:
        then = site_state(ready, record.as_of(day), planned=planned, learn=learn)
        trend.append(TrendPoint(day, player.play(ready, chooser_of(then, weather=then, learned=then))))
    trend.append(TrendPoint(record.at, stages[-1].forecast))
    return Updated(state, tuple(stages), tuple(trend))


def _stages(state: SiteState, player: Player, *, learn: bool, since: Since | None) -> Iterator[Stage]:
    """From before to now; the scenario comes last, where it is another one."""
    old, then, now = state.ready, None, state
    if since is not None:
        old, planned = since.ready, as_planned_times(since.ready)
        now = site_state(old, since.record, planned=planned, learn=learn)
        if since.day is not None:
            then = site_state(old, since.record.as_of(since.day), planned=planned, learn=learn)
    before = old.chooser if then is None else chooser_of(then, weather=then, learned=then)
    yield Stage(START, player.play(old, before))
    yield Stage(PROGRESS, player.play(old, chooser_of(now, weather=then, learned=then)))
    yield Stage(WEATHER, player.play(old, chooser_of(now, weather=now, learned=then)))
    yield Stage(LEARNED, player.play(old, chooser_of(now, weather=now, learned=now)))
    if old.scenario.hash != state.ready.scenario.hash:
        yield Stage(SCENARIO, player.play(state.ready, chooser_of(state, weather=state, learned=state)))


def mean_and_error(days: Floats) -> tuple[float, float]:
    """Mean of paired differences, and its standard error; 0 of a single one. [d]"""
    if not len(days):
        return float("nan"), float("nan")
    error = float(days.std(ddof=1) / np.sqrt(len(days))) if len(days) > 1 else 0.0
    return float(days.mean()), error
