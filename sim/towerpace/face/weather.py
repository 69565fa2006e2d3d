"""Workable hours and calm windows of every operation under weather limits: record beside generator."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from towerpace.answers.calm import calm_days, calm_hours, calm_windows
from towerpace.answers.calm_said import CalmWindows
from towerpace.answers.open_years import open_years
from towerpace.answers.prepare import prepare
from towerpace.answers.workable import Workable, workable, workable_hours
from towerpace.answers.workable_said import WORKABLE_TABLES, said
from towerpace.face.asked import check_numbers
from towerpace.face.defaults import SEED, WEATHER_BANDS, WEATHER_YEARS
from towerpace.face.result import Result, explained
from towerpace.faults import Fault, InputError
from towerpace.scenario.load import Scenario

CLEAR_H = (0.25, 72.0)  # the shortest and the longest calm window that may be asked for


@explained(WORKABLE_TABLES)
class WorkableHours(Result[list[Workable]]):
    """Workable hours, and days with calm windows, by operation, band of levels and month of twelve."""


def weather(
    scenario: Scenario,
    *,
    trials: int = WEATHER_YEARS,
    seed: int = SEED,
    bands: int = WEATHER_BANDS,
    clear_h: Sequence[float] = (),
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
    clear_h : sequence of float
        Lengths of calm windows: on how many days so many clear hours come in a row, from which hour on. [h]
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
    >>> calm = weather(load("scenarios/gannet_wharf/scenario.toml"), trials=2, bands=1, clear_h=[4])
    >>> days = calm.frame("calm_days")
    >>> bool((days["record_days"] <= days["shift_days"] + 1e-9).all())
    True
    """
    windows = {f"clear_h[{k}]": (hours, *CLEAR_H) for k, hours in enumerate(clear_h)}
    check_numbers(
        scenario.path,
        {"trials": (trials, 1, None), "seed": (seed, 0, None), "bands": (bands, 1, None), **windows},
    )
    ready = prepare(scenario)
    if ready.chooser.weather is None:
        raise InputError([Fault(scenario.path, None, "weather", "missing", "a scenario with [weather]")])
    start = ready.tower.start
    measures = [workable_hours(start), *(calm_windows(start, clear_h=hours) for hours in clear_h)]
    work, *calm = open_years(ready, measures, years=trials, seed=seed, bands=bands, on_done=on_done)
    hours = list(workable(work, start=start))
    windows_of = [
        CalmWindows(length, tuple(calm_days(years, start=start)), tuple(calm_hours(years, start=start)))
        for length, years in zip(clear_h, calm, strict=True)
    ]
    return WorkableHours(said(ready, hours, windows_of, years=trials, seed=seed), hours)
