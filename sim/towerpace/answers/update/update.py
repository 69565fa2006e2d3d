"""The forecast from what is built: before and now, what moved it, and its trend over the data dates."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures import Executor
from dataclasses import dataclass
from datetime import date
from functools import cached_property

import numpy as np

from towerpace.answers.baseline.items import FINISH
from towerpace.answers.estimates import LATER
from towerpace.answers.forecast import Forecast
from towerpace.answers.prepare import Prepared
from towerpace.answers.seen.reading import Reading
from towerpace.answers.seen.site_state import SiteState, chooser_of
from towerpace.answers.update.held_dates import HeldDates, Place, Standing, held_at_start, standings
from towerpace.answers.update.milestones import Milestones
from towerpace.draws import Chooser
from towerpace.record.site_record import SiteRecord
from towerpace.trials.job import Job
from towerpace.trials.run import played
from towerpace.units import DAY_MIN, Floats

START, PROGRESS, WEATHER, LEARNED, SCENARIO = "before", "progress", "weather", "learned", "scenario"


@dataclass(frozen=True)
class Stage:
    """The forecast with one thing more known than in the stage before it, on the same draws."""

    name: str
    forecast: Forecast


@dataclass(frozen=True)
class TrendPoint:
    """The forecast as it was at one data date; None for the start.

    earlier : whether it is of the scenario as it was, where that has changed since.
    """

    day: date | None
    forecast: Forecast
    earlier: bool = False


@dataclass(frozen=True)
class Updated:
    """An update.

    state : what is known of the site now. stages : from before to now. trend : from the start to now.
    held : the dates of the baseline. since : what the update goes on from, None for the start.
    """

    state: SiteState
    stages: tuple[Stage, ...]
    trend: tuple[TrendPoint, ...]
    held: HeldDates
    since: Since | None = None

    @property
    def before(self) -> Forecast:
        """The forecast before this update."""
        return self.stages[0].forecast

    @property
    def now(self) -> Forecast:
        """The forecast from all that is known."""
        return self.stages[-1].forecast

    @property
    def scenario_changed(self) -> bool:
        """Whether the scenario is another one than that of the last update."""
        return self.since is not None and self.since.differs_from(self.state.ready)

    @cached_property
    def standings(self) -> dict[Place, Standing]:
        """How each date of the baseline stands now."""
        return standings(self.held, self.now)

    @property
    def standing_finish(self) -> Standing | None:
        """That of the finish; None where the baseline has no date of it."""
        return self.standings.get((FINISH, None))

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

    def play_on(self, state: SiteState) -> Forecast:
        """The forecast from all that is known at a data date."""
        return self.play(state.ready, chooser_of(state, weather=state, learned=state))


@dataclass(frozen=True)
class Told:
    """What the results tell that an update goes on from.

    folder : they lie in. p80 : of the finish; None beyond the horizon.
    """

    folder: str
    p80: date | None


@dataclass(frozen=True)
class Since:
    """What an update goes on from: the scenario of the last one, and its data date; None for a forecast.

    record, reading : the record as that scenario reads it, up to now. told : what its results tell.
    """

    ready: Prepared
    record: SiteRecord
    reading: Reading
    day: date | None
    told: Told | None = None

    def differs_from(self, ready: Prepared) -> bool:
        """Whether its scenario is another one."""
        return self.ready.scenario.hash != ready.scenario.hash

    def covers(self, day: date | None) -> bool:
        """Whether a data date, None for the start, lies no later than the last update."""
        return day is None or (self.day is not None and day <= self.day)


def update(
    ready: Prepared,
    record: SiteRecord,
    player: Player,
    *,
    reading: Reading,
    since: Since | None = None,
    held: HeldDates | None = None,
) -> Updated:
    """Go on from a record: the stages of its last data date, and the forecast of every date before.

    reading : how the record is read. since : what "before" is; without it the start. held : the dates of the
    baseline; without them those of the start.
    """
    state = reading.state(ready, record)
    stages = tuple(_stages(ready, state, player, since=since))
    trend = (
        *_trend(ready, record, stages[0].forecast, player, reading=reading, since=since),
        TrendPoint(record.at, stages[-1].forecast),
    )
    return Updated(state, stages, trend, held or held_at_start(trend[0].forecast), since)


def _trend(
    now: Prepared,
    seen: SiteRecord,
    before: Forecast,
    player: Player,
    *,
    reading: Reading,
    since: Since | None,
) -> Iterator[TrendPoint]:
    """The start and every data date before the last, each under the scenario of its time.

    before : the forecast of the first stage, which need not be played twice.
    """
    for day in (None, *seen.progress.days[:-1]):
        earlier = since is not None and since.covers(day) and since.differs_from(now)
        ready, record, read = now, seen, reading
        if earlier and since is not None:
            ready, record, read = since.ready, since.record, since.reading
        if day == (None if since is None else since.day):
            forecast = before
        elif day is None:
            forecast = player.play(ready, ready.chooser)
        else:
            forecast = player.play_on(read.state(ready, record.as_of(day)))
        yield TrendPoint(day, forecast, earlier)


def _stages(ready: Prepared, state: SiteState, player: Player, *, since: Since | None) -> Iterator[Stage]:
    """From before to now; the scenario comes last, where it is another one."""
    old, then, now = ready, None, state
    if since is not None:
        old, now = since.ready, since.reading.state(since.ready, since.record)
        if since.day is not None:
            then = since.reading.state(old, since.record.as_of(since.day))
    yield Stage(START, player.play(old, old.chooser) if then is None else player.play_on(then))
    yield Stage(PROGRESS, player.play(now.ready, chooser_of(now, weather=then, learned=then)))
    yield Stage(WEATHER, player.play(now.ready, chooser_of(now, weather=now, learned=then)))
    yield Stage(LEARNED, player.play_on(now))
    if since is not None and since.differs_from(ready):
        yield Stage(SCENARIO, player.play_on(state))


def mean_and_error(days: Floats) -> tuple[float, float]:
    """Mean of paired differences, and its standard error; 0 of a single one. [d]"""
    if not len(days):
        return float("nan"), float("nan")
    error = float(days.std(ddof=1) / np.sqrt(len(days))) if len(days) > 1 else 0.0
    return float(days.mean()), error
