"""Why the finish is late: the critical chains of many trials, by trade, level, pool and cause."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Executor
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from towerpace.answers.chain import Link, chain
from towerpace.answers.ledger import Ledger
from towerpace.answers.prepare import Prepared, prepare
from towerpace.draws import Draw
from towerpace.engine.diary import Diary
from towerpace.engine.openings import Openings
from towerpace.plan.site.tower import Tower
from towerpace.scenario.load import Scenario
from towerpace.trials.outcome import Outcome, Outcomes
from towerpace.trials.run import Job, run_trials

Ints = NDArray[np.int64]
DAY_MIN = 1440


@dataclass(frozen=True)
class ChainMeasure:
    """Minutes that each trade, level, pool and cause held the finish."""

    tower: Tower

    def reader(self) -> ChainReader:
        """Prepare what is the same in every trial."""
        return ChainReader(self.tower)


class ChainReader:
    """Reads the critical chain of every trial of one tower.

    Values of a trial in minutes: held (n_rows, n_causes), by_level (n_levels,), by_pool (n_pools,) time in
    which the chain ran through a unit of the pool on its way to the next who waited for it, finished () 1 or
    0. All zero for a trial that did not finish.
    """

    def __init__(self, tower: Tower) -> None:
        self.tower = tower
        self.book = Ledger(tower)
        self.rows = tower_rows(tower)
        row = {name: k for k, name in enumerate(self.rows)}
        floor = {level: k for k, level in enumerate(tower.levels)}
        tags = [step.tags for step in tower.plan.steps]
        self._row = np.array([row[t.trade] for t in tags])
        self._floor = np.array([-1 if t.level is None else floor[t.level] for t in tags])
        self.causes = (*self.book.causes, "not before its date")

    def __call__(self, draw: Draw, openings: Openings, diary: Diary) -> Outcome:
        """Results of one trial."""
        links = chain(diary)
        held = np.zeros((len(self.rows), len(self.causes)), dtype=np.int64)
        by_level = np.zeros(len(self.tower.levels), dtype=np.int64)
        by_pool = np.zeros(len(self.tower.plan.pools.names), dtype=np.int64)
        if links:
            minutes = self.by_cause(links, draw, openings, diary)
            steps = np.array([link.step for link in links])
            np.add.at(held, self._row[steps], minutes.T)
            on_level = self._floor[steps] >= 0
            np.add.at(by_level, self._floor[steps][on_level], minutes.sum(axis=0)[on_level])
            for link, after in pairwise(links):
                if after.pool >= 0:
                    by_pool[after.pool] += link.finished - link.started
        values = {"held": held, "by_level": by_level, "by_pool": by_pool, "finished": np.int64(bool(links))}
        return Outcome({k: np.asarray(v) for k, v in values.items()}, {})

    def by_cause(self, links: list[Link], draw: Draw, openings: Openings, diary: Diary) -> Ints:
        """Minutes of every link by cause, (n_causes, k): its gap, its doing, and for the first its date."""
        steps = np.array([link.step for link in links], dtype=np.int64)
        since = np.array([link.since for link in links], dtype=np.int64)
        begun = np.array([link.started for link in links], dtype=np.int64)
        made = np.zeros((len(self.causes), len(links)), dtype=np.int64)
        waiting, doing = self.book.of_steps(draw, openings, diary, steps=steps, since=since, begun=begun)
        made[: len(waiting)] += waiting + doing
        made[-1, 0] += links[0].since
        return made


def tower_rows(tower: Tower) -> tuple[str, ...]:
    """Every trade, row and milestone that a step may belong to, in the order of the plan."""
    return tuple(dict.fromkeys([*tower.trades, *(step.tags.trade for step in tower.plan.steps)]))


@dataclass(frozen=True)
class Explanation:
    """What held the finish, over many trials.

    rows, causes, levels, pools : names along the arrays of `outcomes`, see `ChainReader`.
    """

    ready: Prepared
    seed: int
    outcomes: Outcomes
    rows: tuple[str, ...]
    causes: tuple[str, ...]

    @property
    def trials(self) -> int:
        """Trials that were played."""
        return self.outcomes.n

    @property
    def finished(self) -> int:
        """Trials that finished; only they have a chain."""
        return int(self.outcomes.values["finished"].sum())

    def _mean_days(self, key: str) -> NDArray[np.float64]:
        days: NDArray[np.float64] = self.outcomes.values[key].sum(axis=0) / (DAY_MIN * max(1, self.finished))
        return days

    @property
    def held_days(self) -> NDArray[np.float64]:
        """Mean days of the finish held by each row and cause, (n_rows, n_causes). [d]"""
        return self._mean_days("held")

    @property
    def level_days(self) -> NDArray[np.float64]:
        """Mean days of the finish spent on each level, (n_levels,). [d]"""
        return self._mean_days("by_level")

    @property
    def pool_days(self) -> NDArray[np.float64]:
        """Mean days of the finish that ran through units others waited for, (n_pools,). [d]"""
        return self._mean_days("by_pool")

    def criticality(self, key: str) -> NDArray[np.float64]:
        """Share of the finished trials in whose chain a row, level or pool appears at all. [-]"""
        values = self.outcomes.values[key]
        touched = values.sum(axis=2) > 0 if values.ndim == 3 else values > 0
        share: NDArray[np.float64] = touched.sum(axis=0) / max(1, self.finished)
        return share


def explain(
    scenario: Scenario,
    *,
    trials: int,
    seed: int,
    workers: int = 1,
    executor: Executor | None = None,
    on_done: Callable[[int], None] = lambda _: None,
) -> Explanation:
    """Play trials and gather their critical chains; raises `InputError` for what cannot be run."""
    ready = prepare(scenario)
    job = Job(ready.chooser, ChainMeasure(ready.tower), seed)
    result = run_trials(job, trials=trials, workers=workers, executor=executor, on_done=on_done)
    reader = ChainReader(ready.tower)
    return Explanation(ready, seed, result.outcomes, reader.rows, reader.causes)
