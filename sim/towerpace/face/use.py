"""How busy every resource is, what is scarce in which week, and where the panels stand."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Executor

from towerpace.answers.use import use as answers
from towerpace.answers.use.use_said import USE_FIGURES, said
from towerpace.answers.use.use_tables import USE_TABLES
from towerpace.face.asked import check_numbers
from towerpace.face.defaults import SEED, USE_TRIALS
from towerpace.face.result import Result, explained
from towerpace.scenario.load import Scenario


@explained(USE_TABLES, figures=USE_FIGURES)
class Use(Result[answers.UseDetail]):
    """How busy every resource is week by week, what is waited for most, and where the panels stand."""


def use(
    scenario: Scenario,
    *,
    trials: int = USE_TRIALS,
    seed: int = SEED,
    workers: int = 1,
    executor: Executor | None = None,
    on_done: Callable[[int], None] = lambda _: None,
) -> Use:
    """Play trials and gather how busy every resource is, week by week, and where the panels stand.

    Parameters
    ----------
    scenario : Scenario
        From `load`.
    trials, seed, workers, executor, on_done
        As of `forecast`.

    Returns
    -------
    Use
        DataFrames from `frame`, figures from `plot`.

    Raises
    ------
    InputError
        For a scenario that cannot be run, or numbers out of range.

    Examples
    --------
    >>> from towerpace import load, use
    >>> busy = use(load("scenarios/one_hoist/scenario.toml"), trials=10)
    >>> print(busy.frame("resources")[["resource", "units", "waited_h"]].round(0).to_string(index=False))
       resource  units  waited_h
     panel_gang      2       9.0
    floor_crane      2       0.0
          hoist      1    3671.0
            bay      1      35.0
    """
    check_numbers(
        scenario.path, {"trials": (trials, 1, None), "seed": (seed, 0, None), "workers": (workers, 1, None)}
    )
    played = answers.use(
        scenario, trials=trials, seed=seed, workers=workers, executor=executor, on_done=on_done
    )
    return Use(said(played), played)
