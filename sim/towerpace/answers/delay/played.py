"""Finishes of a site that is played once more, with any of its events taken out; each set of them once."""

from __future__ import annotations

from collections.abc import Callable, Collection
from concurrent.futures import Executor
from dataclasses import dataclass, field
from datetime import date

import numpy as np

from towerpace.answers.delay.replay import ReplayChooser, replay_of
from towerpace.answers.estimates import LATER
from towerpace.answers.prepare import Prepared
from towerpace.answers.seen.observed import Observed, observed
from towerpace.answers.seen.outages import came_by_events
from towerpace.answers.seen.reading import Reading
from towerpace.answers.seen.site_state import SiteState
from towerpace.answers.seen.struck import Stretch
from towerpace.answers.update.milestones import Milestones
from towerpace.draws import Chooser
from towerpace.record.events import Event
from towerpace.record.site_record import SiteRecord
from towerpace.trials.job import Job
from towerpace.trials.outcome import Measure, Outcomes
from towerpace.trials.run import played
from towerpace.units import DAY_MIN, Floats

FINISH = "finish"


@dataclass
class TrialsOf:
    """How the trials of one question are played: how many, under which seed, by whom."""

    trials: int
    seed: int
    executor: Executor | None = None
    on_done: Callable[[int], None] = lambda _: None

    def play(self, chooser: Chooser, measure: Measure) -> Outcomes:
        """Outcomes of all trials."""
        job = Job(chooser, measure, self.seed, one_of_many=True)
        return played(job, trials=self.trials, executor=self.executor, on_done=self.on_done)


@dataclass
class SitePlayed:
    """A site as it was seen at the end of one day, to be played from any minute on without any events.

    events : those that had begun, by their begin.
    """

    state: SiteState
    known: Observed
    events: tuple[Event, ...]
    how: TrialsOf
    _stretches: dict[int, ReplayChooser] = field(default_factory=dict)
    _played: dict[tuple[int, frozenset[str], tuple[int, ...]], dict[str, Floats]] = field(
        default_factory=dict
    )

    @classmethod
    def seen_at(cls, ready: Prepared, record: SiteRecord, *, reading: Reading, how: TrialsOf) -> SitePlayed:
        """The site of a record, which ends with the day up to which it was seen."""
        state, usual = reading.state_and_usual(ready, record)
        events = reading.begun(record)
        came = came_by_events(events, state.ready.tower, seen_until=record.until)
        return cls(state, observed(state, usual=usual, came=came), events, how)

    @property
    def day(self) -> date:
        """The data date."""
        return self.state.day

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the events."""
        return tuple(event.name for event in self.events)

    def chooser(self, since: int) -> ReplayChooser:
        """Draws trials that are played from a minute on, with all events."""
        if since not in self._stretches:
            stretch = Stretch(self.state.ready.tower, self.state.record.words, self.known, since)
            acts = stretch.acts(self.events)
            self._stretches[since] = replay_of(self.state, self.known, acts, since=since)
        return self._stretches[since]

    def days(
        self, *, since: int, off: Collection[str] = (), by_law: Collection[int] = ()
    ) -> dict[str, Floats]:
        """Days to the finish and to the work of every contract date, by name; infinite beyond the horizon.

        since : minute up to which the past is pinned. [min]  off : events that are taken out.
        by_law : steps that take the minutes of the law, not those observed.
        """
        key = since, frozenset(off), tuple(by_law)
        if key not in self._played:
            chooser = self.chooser(since).without(off, by_law=by_law)
            outcomes = self.how.play(chooser, Milestones(self.state.ready.tower))
            self._played[key] = milestone_days(outcomes, self.state.ready)
        return self._played[key]

    def as_recorded(self) -> dict[str, Floats]:
        """The same as the record has it: all that was seen is pinned."""
        return self.days(since=self.known.until)


def milestone_days(outcomes: Outcomes, ready: Prepared) -> dict[str, Floats]:
    """Days to the finish and to the work of every contract date, by name, (n,) each. [d]"""
    days = {FINISH: _days(outcomes.values["finish"])}
    for name, contract in ready.scenario.settings.contract.items():
        if contract.level is not None:
            at = ready.tower.levels.index(contract.level)
            days[name] = _days(outcomes.values["closing_in"][:, at])
    return days


def _days(minutes: np.ndarray) -> Floats:
    return np.where(minutes == LATER, np.inf, minutes / DAY_MIN)
