"""How busy every resource is week by week, which one is waited for most, and where the panels stand."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Executor
from dataclasses import dataclass

import numpy as np

from towerpace.answers.estimates import LATER
from towerpace.answers.ledger.book import Ledger
from towerpace.answers.ledger.waits import Minutes
from towerpace.answers.prepare import Prepared, prepare
from towerpace.answers.use.holding import Holding
from towerpace.answers.use.places import PanelPlaces
from towerpace.draws import Draw
from towerpace.engine.diary import NEVER, Diary
from towerpace.engine.openings import Openings
from towerpace.plan.site.fronts import NO_ROW
from towerpace.plan.site.tower import Tower
from towerpace.scenario.load import Scenario
from towerpace.trials.job import Job
from towerpace.trials.outcome import Outcome, Outcomes
from towerpace.trials.run import run_trials
from towerpace.units import WEEK_MIN, Floats, Ints


def resources_of(tower: Tower) -> list[int]:
    """Pools that are resources of the scenario, in its order."""
    return [k for k, kind in enumerate(tower.plan.pools.kinds) if kind == "resource"]


@dataclass(frozen=True)
class UseMeasure:
    """What holds the resources, what waits for them and where panels stand, of every trial."""

    tower: Tower

    def reader(self) -> UseReader:
        """Prepare what is the same in every trial."""
        return UseReader(self.tower)


class UseReader:
    """Reads diaries of one tower.

    Values of a trial in minutes: finish (), LATER beyond the horizon; busy, away, there, waited
    (n_resources, n_weeks), unit-minutes as of `Held` and minutes waited by all steps that were short of the
    resource first; idle, whole (n_resources,); places (4, n_weeks), panels at the end of each week. [-]
    """

    def __init__(self, tower: Tower) -> None:
        self._pools = resources_of(tower)
        self._ledger = Ledger(tower)
        self._holdings = [Holding(tower.plan, pool) for pool in self._pools]
        self._places = PanelPlaces(tower)
        # A repair that waits for its unit is nobody's wait.
        self._is_work = tower.plan.by_tags(lambda t: t.trade != NO_ROW) == 1
        horizon = tower.plan.horizon
        self._edges = np.minimum(np.arange(-(-horizon // WEEK_MIN) + 1) * WEEK_MIN, horizon)

    def __call__(self, draw: Draw, openings: Openings, diary: Diary) -> Outcome:
        """Results of one trial; the ledger scans the hours of the draw and does not look at openings."""
        del openings
        held = [holding.of(draw, diary, edges=self._edges) for holding in self._holdings]
        _, minutes = self._ledger.of(draw, diary)
        values = {
            "finish": np.int64(LATER if diary.finish is None else diary.finish),
            "waited": np.array([self._waited(minutes, diary, pool) for pool in self._pools]),
            "places": self._places.of(draw, diary, edges=self._edges[1:]),
        }
        for name in ("busy", "away", "there", "idle", "whole"):
            values[name] = np.array([getattr(one, name) for one in held])
        return Outcome({k: np.asarray(v, dtype=np.int64) for k, v in values.items()}, {})

    def _waited(self, minutes: Minutes, diary: Diary, pool: int) -> Ints:
        """Minutes waited for a pool by week, (n_weeks,), of a wait spread evenly from ready to started."""
        short = self._ledger.short_by_step(minutes, pool)
        steps = np.flatnonzero(short * self._is_work)
        since = diary.ready[steps].astype(np.int64)
        started = diary.started[steps].astype(np.int64)
        until = np.where(started == NEVER, self._edges[-1], started)
        passed = (self._edges[:, None] - since) / np.maximum(until - since, 1)
        before = np.clip(passed, 0.0, 1.0) @ short[steps]
        whole: Ints = np.rint(before).astype(np.int64)
        return whole[1:] - whole[:-1]


@dataclass(frozen=True)
class UseDetail:
    """How busy the resources are over many trials.

    resources : names, along the arrays of `outcomes`; see `UseReader`.
    """

    ready: Prepared
    seed: int
    asked: int
    outcomes: Outcomes
    resources: tuple[str, ...]

    @property
    def trials(self) -> int:
        """Trials that were played."""
        return self.outcomes.n

    @property
    def weeks(self) -> int:
        """Weeks up to the last finish of all trials, or to the horizon."""
        finish = self.outcomes.values["finish"]
        all_weeks = int(self.outcomes.values["busy"].shape[2])
        return all_weeks if np.any(finish == LATER) else min(int(-(-finish.max() // WEEK_MIN)), all_weeks)

    def mean_h(self, name: str) -> Floats:
        """Mean hours of a trial, by resource and week or by resource. [h]"""
        hours: Floats = self.outcomes.values[name].sum(axis=0) / (60.0 * self.trials)
        return hours

    @property
    def utilisation(self) -> Floats:
        """Share of the unit-hours on site held for work, (n, n_resources, n_weeks); nan without. [-]"""
        values = self.outcomes.values
        there = values["there"].astype(float)
        share: Floats = np.divide(values["busy"], there, out=np.full_like(there, np.nan), where=there > 0)
        return share

    @property
    def idle_share(self) -> Floats:
        """Share of the hours between first and last use in which units stand idle, (n, n_resources). [-]"""
        idle, whole = (self.outcomes.values[name].astype(float) for name in ("idle", "whole"))
        share: Floats = np.divide(idle, whole, out=np.full_like(whole, np.nan), where=whole > 0)
        return share

    @property
    def most_waited(self) -> Floats:
        """Share of the trials in which each is waited for most in a week, (n_resources, n_weeks). [-]"""
        waited = self.outcomes.values["waited"]
        most = (waited == waited.max(axis=1, keepdims=True)) & (waited > 0)
        share: Floats = most.mean(axis=0)
        return share


def use(
    scenario: Scenario,
    *,
    trials: int,
    seed: int,
    workers: int = 1,
    executor: Executor | None = None,
    on_done: Callable[[int], None] = lambda _: None,
) -> UseDetail:
    """Play trials and gather how busy every resource is; raises `InputError` for what cannot be run."""
    ready = prepare(scenario)
    job = Job(ready.chooser, UseMeasure(ready.tower), seed)
    played = run_trials(job, trials=trials, workers=workers, executor=executor, on_done=on_done)
    names = tuple(ready.tower.plan.pools.names[k] for k in resources_of(ready.tower))
    return UseDetail(ready, seed, trials, played.outcomes, names)
