"""The forecast: what the finish date and every level's closing-in are worth."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Executor

from towerpace.answers import forecast as answers
from towerpace.answers.forecast_said import FORECAST_FIGURES, said, said_of_setup
from towerpace.answers.forecast_tables import FORECAST_TABLES
from towerpace.engine.names import EngineName, played_by
from towerpace.face.asked import check_engine, check_numbers
from towerpace.face.defaults import FORECAST_TRIALS, SEED
from towerpace.face.result import Result, explained
from towerpace.scenario.load import Scenario
from towerpace.scenario.setups import BASE, base_of, named_setup


@explained(FORECAST_TABLES, figures=FORECAST_FIGURES)
class Forecast(Result[answers.Forecast]):
    """What the finish date and every level's closing-in are worth, and where the time goes."""


def forecast(
    scenario: Scenario,
    *,
    setup: str | None = None,
    trials: int = FORECAST_TRIALS,
    seed: int = SEED,
    workers: int = 1,
    executor: Executor | None = None,
    engine: EngineName = "fastest",
    on_done: Callable[[int], None] = lambda _: None,
) -> Forecast:
    """Play trials of a scenario: the spread of its finish and of every closing-in, and where time goes.

    Parameters
    ----------
    scenario : Scenario
        From `load`.
    setup : str, optional
        Name of a [setup.NAME] or [candidate.NAME], to be played in the place of the file as it is.
    trials, seed : int
        Trial k of a seed is the same however many are played.
    workers : int
        Processes; the numbers do not depend on it. In a script more than one need
        `if __name__ == "__main__":` around the call.
    executor : Executor, optional
        Of `concurrent.futures`, in the place of our own processes.
    engine : str
        "fastest", "compiled" or "reference": the numbers do not depend on it, the time does.
    on_done : callable
        Told how many trials have just been finished.

    Returns
    -------
    Forecast
        DataFrames from `frame`, figures from `plot`, estimates in `detail`. After Ctrl-C, of the trials that
        were done.

    Raises
    ------
    InputError
        For a scenario that cannot be run, or numbers out of range.

    Examples
    --------
    >>> from towerpace import forecast, load
    >>> result = forecast(load("scenarios/one_trade/scenario.toml"), trials=20)
    >>> result
    <Forecast: Four trials in five finish by Thu 01 Apr 2027 (95 % interval ...
    >>> print(result.frame("percentiles")[["percentile", "finish", "working_day"]].to_string(index=False))
    percentile     finish  working_day
           P10 2027-03-29           21
           P50 2027-03-30           22
           P80 2027-04-01           24
           P90 2027-04-01           24
    >>> print(result.frame("ledger").round(1).to_string(index=False))
       trade                    cause  mean_h
    brackets                     work    91.1
    brackets            outside shift   332.9
    brackets waiting for bracket_gang    43.6
    >>> result.plot("finish").get_suptitle()
    'Half of the trials finish by 30 Mar 2027, four in five by 1 Apr 2027'
    """
    check_numbers(
        scenario.path, {"trials": (trials, 1, None), "seed": (seed, 0, None), "workers": (workers, 1, None)}
    )
    check_engine(scenario.path, engine)
    made = base_of(scenario) if setup in (None, BASE) else named_setup(scenario, setup)
    with played_by(engine):
        played = answers.forecast(
            made.scenario, trials=trials, seed=seed, workers=workers, executor=executor, on_done=on_done
        )
    answer = said(played) if made.scenario is scenario else said_of_setup(played, made, scenario)
    return Forecast(answer, played)
