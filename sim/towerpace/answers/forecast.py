"""The forecast: what the finish date and every level's closing-in are worth, and where the time goes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from datetime import date

import numpy as np

from towerpace.answers.cost import CostBook, cost_book
from towerpace.answers.days import Days
from towerpace.answers.estimates import LATER, Chance, Percentile, chance, percentile
from towerpace.answers.ledger.book import LedgerNames
from towerpace.answers.measures import ForecastMeasure
from towerpace.answers.prepare import Prepared, prepare
from towerpace.plan.site.tower import Tower
from towerpace.scenario.load import Scenario
from towerpace.trials.job import Job
from towerpace.trials.outcome import Outcomes
from towerpace.trials.run import run_trials
from towerpace.units import DAY_MIN, Flags, Floats, Ints

PERCENTILES = (0.1, 0.5, 0.8, 0.9)


@dataclass(frozen=True)
class ContractMet:
    """A contract date and the chance that it is met.

    level : closing-in of this level, or None for the finish.
    """

    name: str
    date: date
    level: int | None
    chance: Chance


@dataclass(frozen=True)
class Forecast:
    """Answers of a forecast, with the outcomes of its trials for tables and figures.

    outcomes : see `ForecastReader` for the arrays.
    rows, causes : of the ledger.
    """

    scenario: Scenario
    tower: Tower
    days: Days
    seed: int
    asked: int
    outcomes: Outcomes
    rows: tuple[str, ...]
    causes: tuple[str, ...]
    costs: CostBook | None = None

    @property
    def trials(self) -> int:
        """Trials that were finished."""
        return self.outcomes.n

    @property
    def finish(self) -> Ints:
        """Finish of every trial, (n,), LATER where beyond the horizon. [min]"""
        return self.outcomes.values["finish"]

    @property
    def beyond(self) -> int:
        """Trials that did not finish inside the horizon; they count as later than all others."""
        return int(np.count_nonzero(self.finish == LATER))

    def finish_at(self, p: float) -> Percentile:
        """A percentile of the finish. [min]"""
        return percentile(self.finish, p)

    @property
    def finish_days(self) -> tuple[float, float] | None:
        """Mean and sd of the calendar days from the start to the finish, if all trials finished. [d]"""
        if self.beyond:
            return None
        days = self.finish / DAY_MIN
        return float(days.mean()), float(days.std(ddof=1)) if len(days) > 1 else 0.0

    def closing_in(self, p: float) -> list[tuple[int, Percentile]]:
        """A percentile of every level's closing-in, lowest level first. [min]"""
        columns = self.outcomes.values["closing_in"].T
        return [(level, percentile(x, p)) for level, x in zip(self.tower.levels, columns, strict=False)]

    def _met(self) -> dict[str, Flags]:
        met = {}
        for name, contract in self.scenario.settings.contract.items():
            when = self.finish
            if contract.level is not None:
                when = self.outcomes.values["closing_in"][:, self.tower.levels.index(contract.level)]
            met[name] = when <= self.days.last_minute(contract.date)
        return met

    @property
    def contracts(self) -> list[ContractMet]:
        """Every contract date with its chance."""
        stated, met = self.scenario.settings.contract, self._met()
        return [ContractMet(k, c.date, c.level, chance(met[k])) for k, c in stated.items()]

    @property
    def joint(self) -> Chance | None:
        """Chance that all contract dates are met together; None without contract dates."""
        met = self._met()
        return chance(np.all(list(met.values()), axis=0)) if met else None

    @property
    def cost(self) -> Ints | None:
        """Cost of every trial, (n,), in thousandths of the unit, LATER beyond the horizon; or None."""
        if self.costs is None:
            return None
        items = self.outcomes.values["cost"]
        return np.where(self.finish == LATER, LATER, np.where(items == LATER, 0, items).sum(axis=1))

    @property
    def ledger_h(self) -> Floats:
        """Mean hours of a trial by row and cause, (n_rows, n_causes). [h]"""
        hours: Floats = self.outcomes.values["ledger"].sum(axis=0) / (60.0 * self.trials)
        return hours

    @property
    def ledger_by_level_h(self) -> Floats:
        """Mean hours of a trial by row, level and cause, (n_rows, n_levels, n_causes). [h]"""
        hours: Floats = self.outcomes.sums["ledger"] / (60.0 * self.trials)
        return hours


def forecast(
    asked: Scenario | Prepared,
    *,
    trials: int,
    seed: int,
    workers: int = 1,
    executor: Executor | None = None,
    on_done: Callable[[int], None] = lambda _: None,
) -> Forecast:
    """Play trials of a scenario and gather the answers.

    asked : the scenario, or what has been made ready of it.

    Raises `InputError` for a scenario that cannot be run.
    """
    ready = asked if isinstance(asked, Prepared) else prepare(asked)
    scenario = ready.scenario
    costs = cost_book(scenario.settings, tower=ready.tower, days=ready.days)
    job = Job(ready.chooser, ForecastMeasure(ready.tower, costs), seed)
    result = run_trials(job, trials=trials, workers=workers, executor=executor, on_done=on_done)
    ledger = LedgerNames(ready.tower)
    return Forecast(
        scenario, ready.tower, ready.days, seed, trials, result.outcomes, ledger.rows, ledger.causes, costs
    )


def iso(days: Days, minute: int | None) -> str | None:
    """Date of a moment as text; None beyond the horizon."""
    return None if minute is None else days.date_of(minute).isoformat()


def percentile_names(ps: Sequence[float] = PERCENTILES) -> list[str]:
    """P10, P50, ..."""
    return [f"P{round(100 * p)}" for p in ps]
