"""Why the finish is late: the controlling chains of many trials, by trade, level, pool and cause."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from concurrent.futures import Executor
from dataclasses import dataclass, replace

import numpy as np

from towerpace.answers.bid.sources_of_spread import sources_of
from towerpace.answers.choice.lab import processes
from towerpace.answers.choice.paired import Difference
from towerpace.answers.estimates import LATER
from towerpace.answers.ledger.book import Ledger, missing_cause
from towerpace.answers.ledger.waits import Minutes
from towerpace.answers.prepare import Prepared, prepare
from towerpace.answers.reconciled import Reconciled, reconciled, removal_trials, removals
from towerpace.answers.why.by_source import BySource, TracedDraw, traced
from towerpace.answers.why.chain import DATE_CAUSE, LATER_CAUSE, Link, chain, equally_long
from towerpace.answers.why.pace import Pace
from towerpace.answers.why.scarce import Scarce
from towerpace.answers.why.things import Things
from towerpace.answers.why.unfinished import Wait, first_few, locked, roots, wait_of
from towerpace.draws import Draw
from towerpace.engine.diary import NEVER, Diary
from towerpace.engine.openings import Openings
from towerpace.plan.model import NONE
from towerpace.plan.parts import Tags
from towerpace.plan.site.absences import TIME_TO_FAILURE
from towerpace.plan.site.activities import ACTIVITIES
from towerpace.plan.site.fronts import CURING
from towerpace.plan.site.risks import RISKS
from towerpace.plan.site.tower import Tower
from towerpace.scenario.load import Scenario
from towerpace.scenario.once import MOCK_UP
from towerpace.trials.job import Job
from towerpace.trials.outcome import Outcome, Outcomes
from towerpace.trials.run import run_trials
from towerpace.units import DAY_MIN, Flags, Floats, Ints

STUCK_KEPT = 4
MILLION = 1_000_000


@dataclass(frozen=True)
class ChainMeasure:
    """Minutes that each trade, level, pool and cause held the finish; sources : of draws that are traced."""

    tower: Tower
    sources: tuple[str, ...] = ()

    def reader(self) -> ChainReader:
        """Prepare what is the same in every trial."""
        return ChainReader(self.tower, self.sources)


class ChainReader:
    """Reads the controlling chain of every trial of one tower.

    Values of a trial in minutes: held (n_rows, n_causes), by_level (n_levels,), by_pool (n_pools,) time in
    which the chain ran through a unit of the pool on its way to the next who waited for it (pools that were
    short together all count), worked (n_rows, n_causes) what of held lies inside the shift, in millionths of
    a working day, first () step with which the chain begins, -1 without a chain, finished () 1
    or 0. All but the last two are zero for a trial that did not finish.
    Of every trial: short (n_pools,) time in which any step, on the chain or off it, was short of the pool
    first, ledger (n_rows of the ledger, n_causes of the ledger), left () steps that have not ended, locked ()
    1 if nothing could have gone on, stuck (STUCK_KEPT, 4) what the first of these wait for, see
    `unfinished.Wait`, -1 where there are fewer, waited (n_things, n_causes of the ledger) and passed
    (n_things,) minutes that each kind of thing waited and how many of them there were, see `things`.
    Of traced draws: by_source (2, n_sources) what each adds on and off the chain, in millionths of a day.
    """

    def __init__(self, tower: Tower, sources: tuple[str, ...] = ()) -> None:
        self.tower = tower
        self.book = Ledger(tower)
        self.rows = tower_rows(tower)
        row = {name: k for k, name in enumerate(self.rows)}
        floor = {level: k for k, level in enumerate(tower.levels)}
        self._row = tower.plan.by_tags(lambda t: row[t.trade])
        self._floor = tower.plan.by_tags(lambda t: -1 if t.level is None else floor[t.level])
        self._scarce = Scarce(tower.plan)
        self.things = Things(tower, self.book)
        self.causes = (*self.book.causes, DATE_CAUSE, LATER_CAUSE)
        self.pace = Pace(tower.plan, self.causes)
        self._by_source = BySource(tower.plan, sources, self.book.causes)
        self._passes = self._passing()

    def __call__(self, draw: Draw, openings: Openings, diary: Diary) -> Outcome:
        """Results of one trial; the ledger scans the hours of the draw and does not look at openings."""
        del openings
        links = chain(diary)
        book, minutes = self.book.of(draw, diary)
        held = np.zeros((len(self.rows), len(self.causes)), dtype=np.int64)
        worked = np.zeros_like(held)
        by_level = np.zeros(len(self.tower.levels), dtype=np.int64)
        by_pool = np.zeros(len(self.tower.plan.pools.names), dtype=np.int64)
        if links:
            spent = self.by_cause(links, minutes, draw, diary)
            steps = np.array([link.step for link in links])
            np.add.at(held, self._row[steps], spent.T)
            days = np.nan_to_num(self.pace.working_days(spent, steps=steps))
            np.add.at(worked, self._row[steps], np.rint(days.T * MILLION).astype(np.int64))
            on_level = self._floor[steps] >= 0
            np.add.at(by_level, self._floor[steps][on_level], spent.sum(axis=0)[on_level])
            for k, after in enumerate(links[1:]):
                for pool in self._scarce.pools(draw, diary, giver=links[k], link=after):
                    by_pool[pool] += self._scarce.kept(diary, links, k, pool)
        values: dict[str, Ints] = {"held": held, "worked": worked, "by_level": by_level, "by_pool": by_pool}
        if isinstance(draw, TracedDraw):
            values["by_source"] = self._sources(draw, diary, links=links, minutes=minutes, pools=by_pool > 0)
        values |= {"short": self.book.short_of(minutes), "ledger": book.sum(axis=1)}
        values["waited"], values["passed"] = self.things.waited(minutes, draw=draw, diary=diary)
        values["finished"] = np.asarray(bool(links), dtype=np.int64)
        values["equal"] = self._on_equal_chains(diary, links)
        values["first"] = np.asarray(links[0].step if links else -1, dtype=np.int64)
        return Outcome({**values, **_unfinished(draw, diary)}, {})

    def chained(self, draw: Draw, diary: Diary) -> Ints:
        """Minutes of the controlling chain alone, (n_rows, n_causes); zeros for a trial without one."""
        held = np.zeros((len(self.rows), len(self.causes)), dtype=np.int64)
        if links := chain(diary):
            _, minutes = self.book.of(draw, diary)
            steps = np.array([link.step for link in links])
            np.add.at(held, self._row[steps], self.by_cause(links, minutes, draw, diary).T)
        return held

    def _on_equal_chains(self, diary: Diary, links: list[Link]) -> Ints:
        """Rows that stand on another chain, as long as the one told, and not on this one, (n_rows,)."""
        equal = np.zeros(len(self.rows), dtype=np.int64)
        equal[self._row[np.array(equally_long(diary, links), dtype=np.int64)]] = 1
        equal[self._row[np.array([link.step for link in links], dtype=np.int64)]] = 0
        return equal

    def _sources(
        self, draw: TracedDraw, diary: Diary, *, links: list[Link], minutes: Minutes, pools: Flags
    ) -> Ints:
        """Millionths of a day by source, on the chain and off it, (2, n_sources)."""
        if not links:
            return np.zeros((2, len(draw.apart)), dtype=np.int64)
        spent = self.by_cause(links, minutes, draw, diary)
        days = self._by_source.of(draw, diary, links=links, spent=spent, minutes=minutes, pools=pools)
        return np.rint(np.array(days) * MILLION).astype(np.int64)

    def _passing(self) -> Ints:
        """Column of the cause for steps in which nobody works (curing, a truck on its way); else -1, (n,)."""
        plan = self.tower.plan

        def column(tags: Tags) -> int:
            # The minutes of what happens once are its work; a mock-up is waited for like curing.
            once = tags.trade in (ACTIVITIES, RISKS) and tags.kind not in (CURING, MOCK_UP)
            cause = missing_cause(tags.kind)
            return self.causes.index(cause) if cause in self.causes and not once else -1

        to_failure = plan.by_tags(lambda t: t.kind == TIME_TO_FAILURE) == 1
        free = (np.diff(plan.needs.start) == 0) & ((plan.window == NONE) | to_failure)
        return np.where(free, plan.by_tags(column), -1)

    def by_cause(self, links: list[Link], minutes: Minutes, draw: Draw, diary: Diary) -> Ints:
        """Minutes of every link by cause, (n_causes, k): its gap, its doing, and for the first its date.

        minutes : of every step of the trial, from the ledger.
        """
        steps = np.array([link.step for link in links], dtype=np.int64)
        since = np.array([link.since for link in links], dtype=np.int64)
        begun = np.array([link.started for link in links], dtype=np.int64)
        by_cause = np.zeros((len(self.causes), len(links)), dtype=np.int64)
        waiting, doing = self.book.of_steps(minutes, draw, diary, steps=steps, since=since, begun=begun)
        by_cause[: len(waiting)] += waiting
        passed = self._passes[steps]
        by_cause[: len(doing), passed < 0] += doing[:, passed < 0]
        idle = np.flatnonzero(passed >= 0)
        by_cause[passed[idle], idle] += doing[:, idle].sum(axis=0)
        planned = min(links[0].since, int(self.tower.plan.date[links[0].step]))
        by_cause[-2, 0] += planned
        by_cause[-1, 0] += links[0].since - planned
        return by_cause


def _unfinished(draw: Draw, diary: Diary) -> dict[str, Ints]:
    """Steps left over, whether the trial is locked, and the first waits."""
    stuck = np.full((STUCK_KEPT, 4), -1, dtype=np.int64)
    waits = roots(diary, draw) if diary.finish is None else []
    for k, wait in enumerate(first_few(waits, STUCK_KEPT)):
        stuck[k] = wait.row()
    left = np.count_nonzero((diary.finished == NEVER) & ~diary.plan.optional)
    numbers = {"left": left, "locked": locked(waits)}
    return {"stuck": stuck, **{k: np.asarray(v, dtype=np.int64) for k, v in numbers.items()}}


def tower_rows(tower: Tower) -> tuple[str, ...]:
    """Every trade, row and milestone that a step may belong to, in the order of the plan."""
    return tuple(dict.fromkeys([*tower.trades, *(tags.trade for tags in tower.plan.tags_used)]))


@dataclass(frozen=True)
class Unfinished:
    """A trial that did not finish inside the horizon.

    left : steps that had not ended. locked : nothing could have gone on. waits : of the first of them.
    """

    trial: int
    left: int
    locked: bool
    waits: tuple[Wait, ...]


@dataclass(frozen=True)
class ExplanationDetail:
    """What held the finish, over many trials.

    rows, causes : names along the arrays of `outcomes`, see `ChainReader`; who, for_ : those of the ledger.
    things : row of the ledger and kind of every thing that waits. not_removed : sources whose removal was
    asked for and is not finished, as Ctrl-C cut it short.
    """

    ready: Prepared
    seed: int
    asked: int
    outcomes: Outcomes
    rows: tuple[str, ...]
    causes: tuple[str, ...]
    who: tuple[str, ...]
    for_: tuple[str, ...]
    things: tuple[tuple[str, str], ...]
    sources: tuple[str, ...]
    removed: Mapping[str, Difference | None]
    not_removed: tuple[str, ...] = ()

    @property
    def reconciled(self) -> list[Reconciled]:
        """Every source of spread counted in three ways."""
        days = self.outcomes.values["by_source"].sum(axis=0) / (MILLION * max(1, self.finished))
        return reconciled(self.sources, chain=days[0], resources=days[1], removed=self.removed)

    @property
    def removal_trials(self) -> int:
        """Trials that removing every source would take; 0 where it was done."""
        return 0 if self.removed else removal_trials(self.ready, trials=self.trials)

    @property
    def trials(self) -> int:
        """Trials that were played."""
        return self.outcomes.n

    @property
    def finished(self) -> int:
        """Trials that finished; only they have a chain."""
        return int(self.outcomes.values["finished"].sum())

    def _mean_days(self, key: str) -> Floats:
        days: Floats = self.outcomes.values[key].sum(axis=0) / (DAY_MIN * max(1, self.finished))
        return days

    @property
    def held_days(self) -> Floats:
        """Mean days of the finish held by each row and cause, (n_rows, n_causes). [d]"""
        return self._mean_days("held")

    @property
    def working_days(self) -> Floats:
        """Mean of what of them lies inside the shift, in working days, (n_rows, n_causes). [d]"""
        days: Floats = self.outcomes.values["worked"].sum(axis=0) / (MILLION * max(1, self.finished))
        return days

    @property
    def level_days(self) -> Floats:
        """Mean days of the finish spent on each level, (n_levels,). [d]"""
        return self._mean_days("by_level")

    @property
    def pool_days(self) -> Floats:
        """Mean days of the finish that ran through units others waited for, (n_pools,). [d]"""
        return self._mean_days("by_pool")

    @property
    def short_h(self) -> Floats:
        """Mean hours of a trial in which somebody was short of each pool, (n_pools,). [h]"""
        hours: Floats = self.outcomes.values["short"].sum(axis=0) / (60 * self.trials)
        return hours

    @property
    def ledger_h(self) -> Floats:
        """Mean hours of a trial by row and cause of the ledger, (n_who, n_for). [h]"""
        hours: Floats = self.outcomes.values["ledger"].sum(axis=0) / (60.0 * self.trials)
        return hours

    @property
    def waited_h(self) -> Floats:
        """Mean hours of a trial that all things of a kind waited, (n_things, n_for). [h]"""
        hours: Floats = self.outcomes.values["waited"].sum(axis=0) / (60.0 * self.trials)
        return hours

    @property
    def passed(self) -> Floats:
        """Mean number of things of each kind in a trial, (n_things,). [-]"""
        count: Floats = self.outcomes.values["passed"].sum(axis=0) / self.trials
        return count

    @property
    def finish(self) -> Ints:
        """Finish of every trial, (n,), LATER where beyond the horizon. [min]"""
        values = self.outcomes.values
        # A chain adds up to its finish.
        return np.where(values["finished"] == 1, values["held"].sum(axis=(1, 2)), LATER)

    @property
    def unfinished(self) -> list[Unfinished]:
        """Every trial that did not finish; it counts as later than all others."""
        values = self.outcomes.values
        return [
            Unfinished(
                trial,
                int(values["left"][trial]),
                bool(values["locked"][trial]),
                tuple(wait_of(row) for row in values["stuck"][trial] if row[0] >= 0),
            )
            for trial in np.flatnonzero(values["left"] > 0).tolist()
        ]

    def equally_long(self) -> dict[str, float]:
        """Rows that stand on another chain, equally long: in what share of the finished trials. [-]"""
        shares = self.outcomes.values["equal"].sum(axis=0) / max(1, self.finished)
        return {row: float(part) for row, part in zip(self.rows, shares, strict=True) if part > 0}

    def criticality(self, key: str) -> Floats:
        """Share of the finished trials in whose chain a row, level or pool appears at all. [-]"""
        values = self.outcomes.values[key]
        touched = values.sum(axis=2) > 0 if values.ndim == 3 else values > 0
        share: Floats = touched.sum(axis=0) / max(1, self.finished)
        return share


def explain(
    scenario: Scenario,
    *,
    trials: int,
    seed: int,
    removed: bool = False,
    workers: int = 1,
    executor: Executor | None = None,
    on_done: Callable[[int], None] = lambda _: None,
) -> ExplanationDetail:
    """Play trials and gather their controlling chains; raises `InputError` for what cannot be run.

    Ctrl-C keeps the trials and the removals that are finished.

    removed : whether every source of spread is removed, too, at the price of as many trials each.
    """
    ready = prepare(scenario)
    sources = sources_of(ready)
    job = Job(traced(ready), ChainMeasure(ready.tower, sources), seed)
    result = run_trials(job, trials=trials, workers=workers, executor=executor, on_done=on_done)
    reader = ChainReader(ready.tower)
    names = reader.rows, reader.causes, reader.book.rows, reader.book.causes, reader.things.names
    detail = ExplanationDetail(ready, seed, trials, result.outcomes, *names, sources, {})
    if not removed or result.interrupted:
        return detail
    off: dict[str, Difference | None] = {}
    try:
        with processes(workers) as pool:
            off.update(removals(ready, detail.finish, seed=seed, executor=executor or pool, on_done=on_done))
    except KeyboardInterrupt:
        pass  # what is removed is kept
    return replace(detail, removed=off, not_removed=tuple(s for s in sources if s not in off))
