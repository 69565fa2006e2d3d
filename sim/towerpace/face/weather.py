"""Workable hours of every operation under weather limits: the record beside the generator."""

from __future__ import annotations

from collections.abc import Callable

from towerpace.answers.prepare import prepare
from towerpace.answers.workable import Workable, workable
from towerpace.answers.workable_said import WORKABLE_TABLES, said
from towerpace.face.asked import check_numbers
from towerpace.face.defaults import SEED, WEATHER_BANDS, WEATHER_YEARS
from towerpace.face.result import Result, explained
from towerpace.faults import Fault, InputError
from towerpace.scenario.load import Scenario


@explained(WORKABLE_TABLES)
class WorkableHours(Result[list[Workable]]):
    """Workable hours by operation, band of levels and month of the first twelve months."""


def weather(
    scenario: Scenario,
    *,
    trials: int = WEATHER_YEARS,
    seed: int = SEED,
    bands: int = WEATHER_BANDS,
    on_done: Callable[[int], None] = lambda _: None,
) -> WorkableHours:
    """Hours in which every operation under weather limits can work, month by month.

    Parameters
    ----------
    scenario : Scenario
        From `load`, with `[weather]`.
    trials : int
        Generated years, each the weather of the trial of that number.
    seed : int
    bands : int
        Bands into which the levels are split, from the lowest up; hours are means over the levels of a band.
    on_done : callable
        Told how many years have just been generated.

    Returns
    -------
    WorkableHours
        DataFrames from `frame`; hours of a month. [h]

    Raises
    ------
    InputError
        For a scenario without weather or that cannot be run, or numbers out of range.

    Examples
    --------
    >>> from towerpace import load, weather
    >>> result = weather(load("scenarios/gannet_wharf/scenario.toml"), trials=2, bands=1)
    >>> hours = result.frame("workable")
    >>> bool((hours["record_h"] <= hours["shift_h"] + 1e-9).all())
    True
    """
    check_numbers(
        scenario.path, {"trials": (trials, 1, None), "seed": (seed, 0, None), "bands": (bands, 1, None)}
    )
    ready = prepare(scenario)
    if ready.chooser.weather is None:
        raise InputError([Fault(scenario.path, None, "weather", "missing", "a scenario with [weather]")])
    hours = workable(ready, years=trials, seed=seed, bands=bands, on_done=on_done)
    return WorkableHours(said(ready, hours, years=trials, seed=seed), hours)
