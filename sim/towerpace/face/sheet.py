"""The sheet on which a site reports what is done."""

from __future__ import annotations

import os
from collections.abc import Callable
from concurrent.futures import Executor
from datetime import date, timedelta
from pathlib import Path

from towerpace.answers.prepare import Prepared, prepare
from towerpace.answers.site import open_fronts as answers
from towerpace.answers.site.open_fronts import OpenFronts
from towerpace.answers.site.sheet_said import SHEET_TABLES, said
from towerpace.face.asked import check_numbers
from towerpace.face.defaults import SEED, SHEET_TRIALS
from towerpace.face.result import Result, explained
from towerpace.faults import Fault, InputError
from towerpace.record.site_record import SiteRecord, read_site_record
from towerpace.scenario.load import Scenario


@explained(SHEET_TABLES)
class Sheet(Result[OpenFronts]):
    """The fronts that may be open in a week, with `done` left blank."""


def sheet(
    scenario: Scenario,
    *,
    day: date,
    progress: str | os.PathLike[str] | None = None,
    trials: int = SHEET_TRIALS,
    seed: int = SEED,
    workers: int = 1,
    executor: Executor | None = None,
    on_done: Callable[[int], None] = lambda _: None,
) -> Sheet:
    """The sheet of a week: only the fronts that may be open in it, for the foreman to fill in.

    Parameters
    ----------
    scenario : Scenario
        From `load`.
    day : date
        The day at whose end the state is told; the week ends with it.
    progress : path, optional
        The sheet so far: what it calls done is left out, what it calls begun is kept, with the last word.
    trials, seed : int
        Played to see what may be open.
    workers, executor, on_done
        As of `forecast`.

    Returns
    -------
    Sheet
        Its table `progress`, saved, is a CSV file that is read back once `done` is filled in.

    Raises
    ------
    InputError
        For a day outside the project, a sheet with faults, or numbers out of range.

    Examples
    --------
    >>> from datetime import date
    >>> from towerpace import load, sheet
    >>> week = sheet(load("scenarios/one_trade/scenario.toml"), day=date(2027, 3, 12), trials=20)
    >>> print(week.frame("progress")[["what", "level", "zone", "of"]].to_string(index=False))
        what  level  zone        of
    handover      1       yes or no
    brackets      1 north        60
    brackets      1 south        60
    """
    check_numbers(
        scenario.path, {"trials": (trials, 1, None), "seed": (seed, 0, None), "workers": (workers, 1, None)}
    )
    _check_day(scenario, day)
    ready = prepare(scenario)
    record = None if progress is None else _record(ready, Path(progress))
    week = answers.open_fronts(
        ready,
        day=day,
        trials=trials,
        seed=seed,
        record=record,
        workers=workers,
        executor=executor,
        on_done=on_done,
    )
    return Sheet(said(week), week)


def _check_day(scenario: Scenario, day: date) -> None:
    first = scenario.settings.tower.start
    last = first + timedelta(scenario.settings.tower.horizon_days - 1)
    if not first <= day <= last:
        raise InputError([Fault(scenario.path, None, "date", str(day), f"a day from {first} to {last}")])


def _record(ready: Prepared, progress: Path) -> SiteRecord:
    return read_site_record(ready.scenario, ready.tower, progress=progress)
