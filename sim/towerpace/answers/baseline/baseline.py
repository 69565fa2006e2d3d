"""A baseline of a scenario: when every front and activity is done, its float, and the joint chance."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from concurrent.futures import Executor
from dataclasses import dataclass
from datetime import date

import numpy as np

from towerpace.answers.baseline.items import Item, item_of_steps, items_of
from towerpace.answers.baseline.latest import LatestEnds
from towerpace.answers.baseline.logic import Link, links_of
from towerpace.answers.bid.contingency import no_uncertainty
from towerpace.answers.estimates import LATER, Chance, Percentile, chance, or_later, percentile
from towerpace.answers.prepare import Prepared, prepare
from towerpace.answers.why.chain import chain
from towerpace.draws import Draw
from towerpace.engine.diary import DATE, Diary
from towerpace.engine.openings import Openings
from towerpace.plan.site.tower import Tower
from towerpace.scenario.load import Scenario
from towerpace.trials.job import Job
from towerpace.trials.outcome import Outcome, Outcomes
from towerpace.trials.run import run_trials
from towerpace.units import Flags, Ints


@dataclass(frozen=True)
class BaselineMeasure:
    """Begin, end, float and place on the chain of every item, of every trial."""

    tower: Tower

    def reader(self) -> BaselineReader:
        """Prepare what is the same in every trial."""
        return BaselineReader(self.tower)


class BaselineReader:
    """Reads diaries of one tower.

    Values of a trial by item, see `items_of`, each (n_items,): begun, done and latest, the latest end that
    leaves the finish where it is along the links, in minutes, LATER where beyond the horizon or, of latest,
    where the trial did not finish; on_chain 1 for what stands on the controlling chain, else 0; dated 1 for
    what begins when its date comes, else 0.
    """

    def __init__(self, tower: Tower) -> None:
        self._items = items_of(tower)
        self._latest = LatestEnds(tower.plan)
        self._item_of = item_of_steps(tower.plan, self._items)

    def __call__(self, draw: Draw, openings: Openings, diary: Diary) -> Outcome:
        """Results of one trial."""
        n, finish = len(self._items), LATER if diary.finish is None else diary.finish
        begun, done, latest = (np.full(n, finish, dtype=np.int64) for _ in range(3))
        started, finished = or_later(diary.started), or_later(diary.finished)
        on_chain, dated = np.zeros((2, n), dtype=np.int64)
        late = None if diary.finish is None else self._latest.of(draw, openings, diary)
        for k, item in enumerate(self._items[:-1]):
            begun[k], done[k] = started[item.begins].min(), finished[item.ends].max()
            dated[k] = (diary.enabler[item.begins] == DATE).any()
            if late is not None:
                latest[k] = done[k] + (late[item.ends] - finished[item.ends]).min()
        owners = self._item_of[np.array([link.step for link in chain(diary)], dtype=np.int64)]
        on_chain[owners[owners >= 0]] = 1
        on_chain[-1] = diary.finish is not None
        stamps = {"begun": begun, "done": done, "latest": latest}
        return Outcome({**stamps, "on_chain": on_chain, "dated": dated}, {})


@dataclass(frozen=True)
class Baseline:
    """A baseline over many trials.

    at : the confidence of its dates. items : along the arrays of `outcomes`, see `BaselineReader`.
    links : the logic between them. planned : minute of the finish if all goes as planned, or None.
    own : dates of a planner's own, by number of the item, which take the place of those at `at`.
    """

    ready: Prepared
    seed: int
    asked: int
    at: float
    outcomes: Outcomes
    items: tuple[Item, ...]
    links: tuple[Link, ...]
    planned: int | None
    own: Mapping[int, date]

    @property
    def trials(self) -> int:
        """Trials that were played."""
        return self.outcomes.n

    def percentile(self, name: str, p: float) -> list[Percentile]:
        """A percentile of the begin ("begun") or end ("done") of every item. [min]"""
        return [percentile(column, p) for column in self.outcomes.values[name].T]

    def baseline(self, name: str) -> list[date | None]:
        """The baseline's date of the begin or end of every item; None beyond the horizon or not stated."""
        if self.own:
            return [self.own.get(k) if name == "done" else None for k in range(len(self.items))]
        minutes = [p.value for p in self.percentile(name, self.at)]
        # What begins at midnight begins on the day that begins.
        later = int(name == "begun")
        return [None if m is None else self.ready.days.date_of(m + later) for m in minutes]

    def kept(self, dates: list[date | None]) -> Flags:
        """Whether each item is done by its date, (n, n_items); without a date it always is."""
        days = self.ready.days
        due = [LATER if day is None else days.last_minute(day) for day in dates]
        kept: Flags = self.outcomes.values["done"] <= np.array(due)
        return kept

    def dated(self, dates: list[date | None], *, kind: str | None = None) -> list[int]:
        """Numbers of the items of a kind, or of all, that have a date."""
        return [k for k, item in enumerate(self.items) if kind in (None, item.kind) and dates[k] is not None]

    def joint(self, dates: list[date | None], *, kind: str | None = None) -> Chance:
        """Chance that all items of a kind, or all of them, are done by their dates."""
        return chance(np.all(self.kept(dates)[:, self.dated(dates, kind=kind)], axis=1))

    @property
    def floats(self) -> Ints:
        """Working days by which each item may be late along the links, (n_finished, n_items). [d]"""
        values = self.outcomes.values
        whole = np.flatnonzero(values["latest"][:, -1] != LATER)
        days = self.ready.days
        return days.working_days(values["latest"][whole]) - days.working_days(values["done"][whole])


def baseline(
    scenario: Scenario,
    *,
    at: float,
    trials: int,
    seed: int,
    own: Callable[[list[Item]], Mapping[int, date]] = lambda _: {},
    workers: int = 1,
    executor: Executor | None = None,
    on_done: Callable[[int], None] = lambda _: None,
) -> Baseline:
    """Play trials and gather the dates of everything; raises `InputError` for what cannot be run.

    own : gives a planner's own dates of the items, if there are any.
    """
    ready = prepare(scenario)
    items = items_of(ready.tower)
    stated = own(items)
    job = Job(ready.chooser, BaselineMeasure(ready.tower), seed)
    played = run_trials(job, trials=trials, workers=workers, executor=executor, on_done=on_done)
    return Baseline(
        ready=ready,
        seed=seed,
        asked=trials,
        at=at,
        outcomes=played.outcomes,
        items=tuple(items),
        links=links_of(ready.tower.plan, items, item_of_steps(ready.tower.plan, items)),
        planned=no_uncertainty(ready).base,
        own=stated,
    )
