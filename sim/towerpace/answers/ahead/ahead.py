"""The weeks ahead of a running site: what will be set, what must be there, and what a promise is worth."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np

from towerpace.answers.ahead.fronts import Groups, Need, due_of, needs, open_places
from towerpace.answers.ahead.measure import AheadMeasure
from towerpace.answers.estimates import Chance, chance
from towerpace.answers.prepare import Prepared
from towerpace.answers.seen.site_state import SiteState, chooser_of
from towerpace.answers.use.use import resources_of
from towerpace.climate.foretold import ForetoldSource
from towerpace.draws import Chooser
from towerpace.plan.model import NONE
from towerpace.record.foretold import Foretold
from towerpace.record.promises import Promise
from towerpace.record.words import Place
from towerpace.trials.job import Job
from towerpace.trials.outcome import Outcomes
from towerpace.trials.run import run_trials
from towerpace.units import DAY_MIN, WEEK_MIN, Flags, Ints

WEEK_DAYS = 7


@dataclass(frozen=True)
class Ahead:
    """The weeks ahead of a data date.

    places : of work that is not done, along `begun` and `done` of the outcomes. needs : along `needed`.
    promises : open at the data date, along `kept` and `enabler`. resources : names, along `busy`.
    foretold : the forecast of the weather that was laid over the record's, or None.
    """

    state: SiteState
    weeks: int
    places: tuple[Place, ...]
    needs: tuple[Need, ...]
    promises: tuple[Promise, ...]
    waits: Ints
    resources: tuple[str, ...]
    foretold: Foretold | None
    seed: int
    asked: int
    outcomes: Outcomes

    @property
    def ready(self) -> Prepared:
        """What was played."""
        return self.state.ready

    @property
    def trials(self) -> int:
        """Trials that were played."""
        return self.outcomes.n

    @property
    def days(self) -> list[date]:
        """Days of the weeks ahead, from the one behind the data date."""
        return [self.state.day + timedelta(k + 1) for k in range(WEEK_DAYS * self.weeks)]

    @property
    def booked(self) -> list[str]:
        """Resources that are booked by the day: hoists and the unloading bay."""
        settings = self.ready.scenario.settings
        wanted = [table.resource for table in (settings.hoist, settings.delivery) if table is not None]
        return [name for name in dict.fromkeys(wanted) if name]

    @property
    def until(self) -> int:
        """First minute behind the weeks. [min]"""
        return self.state.past.until + self.weeks * WEEK_MIN

    def by_then(self, name: str) -> Flags:
        """Whether each place or need of a trial has come by the end of the weeks, (n, n_groups)."""
        by_then: Flags = self.outcomes.values[name] <= self.until
        return by_then

    @property
    def kept(self) -> Flags:
        """Whether each promise is kept, (n, n_promises)."""
        due = [(promise.by - self.ready.tower.start).days + 1 for promise in self.promises]
        kept: Flags = self.outcomes.values["kept"] <= np.array(due, dtype=np.int64) * DAY_MIN
        return kept

    @property
    def all_kept(self) -> Chance:
        """Chance that every promise is kept."""
        together: Flags = np.logical_and.reduce(self.kept, axis=1)
        return chance(together)


def ahead(
    state: SiteState,
    *,
    weeks: int,
    trials: int,
    seed: int,
    promises: tuple[Promise, ...] = (),
    foretold: Foretold | None = None,
    workers: int = 1,
    executor: Executor | None = None,
    on_done: Callable[[int], None] = lambda _: None,
) -> Ahead:
    """Play the site on from a data date, and gather what lies in the weeks ahead.

    promises : those due before the data date's end are passed over: they are decided.
    """
    ready, past, words = state.ready, state.past, state.record.words
    tower, plan = ready.tower, ready.tower.plan
    still = tuple(p for p in promises if p.by > state.day and p.made <= state.day)
    places = open_places(words, tower, past)
    wanted = tuple(needs(words, tower, past))
    due = tuple(due_of(promise, words, tower) for promise in still)
    resources = resources_of(tower)
    measure = AheadMeasure(
        tower=tower,
        edges=past.until + DAY_MIN * np.arange(WEEK_DAYS * weeks + 1),
        places=Groups.of(list(places.values())),
        needs=Groups.of([need.steps for need in wanted]),
        promises=due,
        waits=np.array([_next_of(one.steps, past.begun) for one in due], dtype=np.int64),
        resources=tuple(resources),
    )
    job = Job(_chooser(state, foretold), measure, seed)
    played = run_trials(job, trials=trials, workers=workers, executor=executor, on_done=on_done)
    names = tuple(plan.pools.names[k] for k in resources)
    return Ahead(
        state,
        weeks,
        tuple(places),
        wanted,
        still,
        measure.waits,
        names,
        foretold,
        seed,
        trials,
        played.outcomes,
    )


def _chooser(state: SiteState, foretold: Foretold | None) -> Chooser:
    """Trials from all that is known, the forecast of the weather too."""
    chooser = chooser_of(state, weather=state, learned=state)
    if foretold is None or chooser.weather is None:
        return chooser
    weather = ForetoldSource.ahead_of(chooser.weather, foretold.members, issued_h=foretold.issued_h)
    return replace(chooser, weather=weather)


def _next_of(steps: tuple[int, ...], begun: Ints) -> int:
    """The first of some steps that has not begun; -1 if all have."""
    return next((step for step in steps if begun[step] == NONE), NONE)
