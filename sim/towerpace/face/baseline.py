"""A baseline: dates of every work area, activity and milestone at a confidence, with float and logic."""

from __future__ import annotations

import os
from collections.abc import Callable
from concurrent.futures import Executor
from pathlib import Path

from towerpace.answers.baseline import baseline as answers
from towerpace.answers.baseline.own_dates import OwnDates
from towerpace.answers.baseline.said import BASELINE_FIGURES, said
from towerpace.answers.baseline.tables import BASELINE_TABLES
from towerpace.face.asked import check_numbers
from towerpace.face.defaults import BASELINE_AT, BASELINE_TRIALS, SEED
from towerpace.face.result import Result, explained
from towerpace.scenario.load import Scenario

Place = str | os.PathLike[str]


@explained(BASELINE_TABLES, figures=BASELINE_FIGURES)
class Baseline(Result[answers.Baseline]):
    """Dates to hold the work to, each one's own, with the chance of keeping all of them."""

    def write_network(self, file: Place) -> Path:
        """Write items and links as GraphML (graphml.graphdrawing.org), for programs that draw networks.

        Nodes have kind, what, level, zone, baseline, p50, p80 and float_days; edges have link.
        """
        from towerpace.render.network import write_network

        return write_network(self.answer, Path(file))


def baseline(
    scenario: Scenario,
    *,
    at: float = BASELINE_AT,
    dates: Place | None = None,
    trials: int = BASELINE_TRIALS,
    seed: int = SEED,
    workers: int = 1,
    executor: Executor | None = None,
    on_done: Callable[[int], None] = lambda _: None,
) -> Baseline:
    """Play trials and give every work area, activity and milestone its date at a confidence.

    Parameters
    ----------
    scenario : Scenario
        From `load`.
    at : float
        Confidence of each date by itself, inside (0, 1).
    dates : path, optional
        A planner's own dates in their place: a CSV file with the columns what, level, zone and done.
    trials, seed, workers, executor, on_done
        As of `forecast`.

    Returns
    -------
    Baseline
        DataFrames from `frame`, figures from `plot`, the network from `write_network`.

    Raises
    ------
    InputError
        For a scenario that cannot be run, numbers out of range, or dates that name nothing of the tower.

    Examples
    --------
    >>> from towerpace import baseline, load
    >>> base = baseline(load("scenarios/one_trade/scenario.toml"), at=0.8, trials=20)
    >>> base
    <Baseline: The baseline at P80 ends on Thu 01 Apr 2027, which 90 % of the trials keep. All ...
    >>> print(base.frame("fronts")[["level", "baseline", "float_days"]].tail(2).to_string(index=False))
     level   baseline  float_days
         3 2027-03-30         2.0
         3 2027-04-01         0.0
    """
    check_numbers(
        scenario.path, {"trials": (trials, 1, None), "seed": (seed, 0, None), "workers": (workers, 1, None)}
    )
    check_numbers(scenario.path, {"at": (at, 0.01, 0.99)})
    played = answers.baseline(
        scenario,
        at=at,
        own=(lambda _: {}) if dates is None else OwnDates(Path(dates)),
        trials=trials,
        seed=seed,
        workers=workers,
        executor=executor,
        on_done=on_done,
    )
    return Baseline(said(played), played)
