"""The forecast: what the finish date and every level's closing-in are worth, as data for a notebook."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from concurrent.futures import Executor
from functools import cached_property, partial
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from towerpace.answers import forecast as answers
from towerpace.face.asked import check_numbers
from towerpace.face.defaults import FORECAST_TRIALS, SEED
from towerpace.face.result import Result, grown
from towerpace.scenario.load import Scenario

if TYPE_CHECKING:
    from pandas import DataFrame

    from towerpace.render.figures.forecast import Figure
    from towerpace.render.saved.forecast import Saved

Table = Literal[
    "finish",
    "percentiles",
    "closing_in",
    "contracts",
    "flow",
    "s_curve",
    "ledger",
    "ledger_by_level",
    "assumptions",
]
Picture = Literal["finish", "closing_in", "flow", "panels", "time"]
COMMAND = "towerpace.forecast"


class Forecast(Result[Table, Picture], answers.Forecast):
    """A forecast with its tables and figures.

    Tables: `finish` (a row a trial), `percentiles` (of the finish, with intervals), `closing_in` (a row a
    level), `contracts`, `flow`, `s_curve`, `ledger` (hours by row and cause), `ledger_by_level`,
    `assumptions`. Figures: `finish`, `closing_in`, `flow`, `panels`, `time`.
    """

    MAIN = ("percentiles", "finish")
    BRIEF = ("p", "finish_date", "low_date", "high_date", "working_days")

    def save(self, folder: str | os.PathLike[str], *, command: str = COMMAND) -> Path:
        """Write tables, figures and manifest, as `towerpace forecast --out` does.

        command : what the manifest names as the maker.
        Raises `InputError` if the folder holds something that no run has written.
        """
        from towerpace.render.folder import save

        return save(self, folder, command=command)

    @cached_property
    def _saved(self) -> Saved:
        from towerpace.render.saved.forecast import Saved
        from towerpace.render.saved.manifest import manifest_of
        from towerpace.render.tables.forecast import tables_of

        return Saved(tables_of(self), manifest_of(self, command=COMMAND))

    @property
    def _frames(self) -> Mapping[str, DataFrame]:
        return self._saved.tables

    @property
    def _pictures(self) -> Mapping[str, Callable[[], Figure]]:
        from towerpace.render.figures.forecast import draw, figures_of

        return {name: partial(draw, name, self._saved) for name in figures_of(self._saved)}

    @property
    def _run(self) -> tuple[str, int]:
        return self.scenario.hash, self.seed

    @property
    def _said(self) -> str:
        dates = [answers.iso(self.days, self.finish_at(p).value) or "beyond the horizon" for p in (0.5, 0.8)]
        return f"{self.tower.name}: {self.trials} trials, seed {self.seed}; P50 {dates[0]}, P80 {dates[1]}"


def forecast(
    scenario: Scenario,
    *,
    trials: int = FORECAST_TRIALS,
    seed: int = SEED,
    workers: int = 1,
    executor: Executor | None = None,
    on_done: Callable[[int], None] = lambda _: None,
) -> Forecast:
    """Play trials of a scenario: the spread of its finish and of every closing-in, and where time goes.

    Parameters
    ----------
    scenario : Scenario
        From `load`.
    trials, seed : int
        Trial k of a seed is the same however many are played.
    workers : int
        Processes; the numbers do not depend on it. In a script more than one need
        `if __name__ == "__main__":` around the call.
    executor : Executor, optional
        Of `concurrent.futures`, in the place of our own processes.
    on_done : callable
        Told how many trials have just been finished.

    Returns
    -------
    Forecast
        Estimates as attributes, DataFrames from `frame`, figures from `plot`. After Ctrl-C, of the trials
        that were done.

    Raises
    ------
    InputError
        For a scenario that cannot be run, or numbers out of range.

    Examples
    --------
    >>> from towerpace import forecast, load
    >>> found = forecast(load("scenarios/one_trade/scenario.toml"), trials=20)
    >>> found
    <Forecast of One trade: 20 trials, seed 1; P50 2027-03-30, P80 2027-03-31>
    >>> print(found.frame("percentiles")[["p", "finish_date", "working_days"]].to_string(index=False))
      p finish_date  working_days
    0.1  2027-03-29            21
    0.5  2027-03-30            22
    0.8  2027-03-31            23
    0.9  2027-04-01            24
    >>> print(found.frame("ledger").round(1).to_string(index=False))
       trade           cause  mean_h
    brackets            work    91.7
    brackets   outside shift   322.0
    brackets no bracket_gang    46.8
    >>> found.plot("finish").get_suptitle()
    'Half of the trials finish by 30 Mar 2027, four in five by 31 Mar 2027'
    """
    check_numbers(
        scenario.path, {"trials": (trials, 1, None), "seed": (seed, 0, None), "workers": (workers, 1, None)}
    )
    found = answers.forecast(
        scenario, trials=trials, seed=seed, workers=workers, executor=executor, on_done=on_done
    )
    return grown(Forecast, found)
