"""The weeks ahead of a running site, and what the promises for them are worth."""

from __future__ import annotations

import os
from collections.abc import Callable
from concurrent.futures import Executor
from datetime import date
from pathlib import Path

from towerpace.answers.ahead import ahead as answers
from towerpace.answers.ahead.ahead import Ahead as Detail
from towerpace.answers.ahead.ahead_said import said
from towerpace.answers.ahead.ahead_tables import AHEAD_TABLES
from towerpace.answers.prepare import prepare
from towerpace.face.asked import check_numbers
from towerpace.face.befell import read_beside
from towerpace.face.defaults import AHEAD_TRIALS, AHEAD_WEEKS, SEED
from towerpace.face.result import Result, explained
from towerpace.faults import Fault, InputError
from towerpace.record.foretold import Foretold, ForetoldReader
from towerpace.record.promises import Promise, read_promises
from towerpace.record.site_record import SiteRecord, read_site_record, wind_reader
from towerpace.scenario.load import Scenario

FilePath = str | os.PathLike[str]
MOST_WEEKS = 52


@explained(AHEAD_TABLES)
class Ahead(Result[Detail]):
    """Panels, fronts, what must be there, promises and bookings of the weeks ahead."""


def ahead(
    scenario: Scenario,
    progress: FilePath,
    *,
    weeks: int = AHEAD_WEEKS,
    log: FilePath | None = None,
    wind: FilePath | None = None,
    at: date | None = None,
    events: FilePath | None = None,
    weather: FilePath | None = None,
    promises: FilePath | None = None,
    learn: bool = True,
    trials: int = AHEAD_TRIALS,
    seed: int = SEED,
    workers: int = 1,
    executor: Executor | None = None,
    on_done: Callable[[int], None] = lambda _: None,
) -> Ahead:
    """Look some weeks ahead from what is built.

    Parameters
    ----------
    scenario : Scenario
        From `load`.
    progress, log, wind, at, events, learn
        The record, as of `update`.
    weeks : int
        How far to look.
    weather : path, optional
        A forecast of the hours to come, of one member or an ensemble; a single one is never taken at face
        value. By default all weather is drawn from the record.
    promises : path, optional
        What was promised; what is open at the data date gets its chance.
    trials, seed, workers, executor, on_done
        As of `forecast`.

    Returns
    -------
    Ahead
        DataFrames from `frame`, the trials' minutes in `detail`.

    Raises
    ------
    InputError
        With every fault of all files, or for a scenario that cannot be run.

    Examples
    --------
    >>> from towerpace import ahead, load
    >>> site = "scenarios/gannet_wharf"
    >>> files = {name: f"{site}/record/{name}.csv" for name in ("progress", "log", "wind", "promises")}
    >>> look = ahead(load(f"{site}/scenario.toml"), **files, trials=8)
    >>> len(look.frame("days"))
    42
    """
    check_numbers(
        scenario.path,
        {
            "trials": (trials, 1, None),
            "seed": (seed, 0, None),
            "workers": (workers, 1, None),
            "weeks": (weeks, 1, MOST_WEEKS),
        },
    )
    files = {"progress": progress, "log": log, "wind": wind}
    paths = {name: Path(path) for name, path in files.items() if path is not None}
    ready = prepare(scenario)
    record = read_site_record(scenario, ready.tower, at=at, **paths)
    promised, foretold = _read(scenario, record, promises=promises, weather=weather)
    record, reading = read_beside(record, events, scenario=scenario, at=at, learn=learn)
    state = reading.state(ready, record)
    look = answers.ahead(
        state,
        weeks=weeks,
        trials=trials,
        seed=seed,
        promises=promised,
        foretold=foretold,
        workers=workers,
        executor=executor,
        on_done=on_done,
    )
    return Ahead(said(look), look)


def _read(
    scenario: Scenario, record: SiteRecord, *, promises: FilePath | None, weather: FilePath | None
) -> tuple[tuple[Promise, ...], Foretold | None]:
    """Promises and forecast, with the faults of both files."""
    faults, promised, foretold = list[Fault](), tuple[Promise, ...](), None
    faults += [
        Fault(str(path), None, "file", "missing file", "a CSV file")
        for path in (promises, weather)
        if path is not None and not Path(path).is_file()
    ]
    if faults:
        raise InputError(faults)
    if promises is not None:
        promised, faults = read_promises(Path(promises), words=record.words, start=record.start)
    if weather is not None:
        reader = _reader(scenario, record)
        assert scenario.settings.weather is not None, "asked of `_reader`"
        foretold = reader.foretold(Path(weather), scenario.settings.weather)
        faults += reader.faults
    if faults:
        raise InputError(faults)
    return promised, foretold


def _reader(scenario: Scenario, record: SiteRecord) -> ForetoldReader:
    if scenario.settings.weather is None:
        allowed = "no forecast: the scenario has no table [weather]"
        raise InputError([Fault("command line", None, "weather", "a forecast of the weather", allowed)])
    days = scenario.settings.tower.horizon_days
    return ForetoldReader.like(wind_reader(scenario, until=days * 1440), known_until=record.until)
