"""What the finish would have been without some events, from the record of the site."""

from __future__ import annotations

import os
from collections.abc import Callable
from concurrent.futures import Executor
from datetime import date
from pathlib import Path

from towerpace.answers.delay import delay as answers
from towerpace.answers.delay.delay import Delay as Detail
from towerpace.answers.delay.delay_said import DELAY_FIGURES, said
from towerpace.answers.delay.delay_tables import DELAY_TABLES
from towerpace.answers.delay.periods import By
from towerpace.answers.delay.played import TrialsOf
from towerpace.answers.prepare import prepare
from towerpace.face.asked import check_numbers
from towerpace.face.befell import read_beside
from towerpace.face.defaults import DELAY_TRIALS, SEED
from towerpace.face.result import Result, explained
from towerpace.face.update import team_of
from towerpace.faults import Fault, InputError
from towerpace.record.site_record import read_site_record
from towerpace.scenario.load import Scenario

FilePath = str | os.PathLike[str]
PERIODS = ("month", "sheet")


@explained(DELAY_TABLES, figures=DELAY_FIGURES)
class Delay(Result[Detail]):
    """What each event cost, what they cost together, and how the forecast moved from period to period."""


def delay(
    scenario: Scenario,
    progress: FilePath,
    events: FilePath,
    *,
    log: FilePath | None = None,
    wind: FilePath | None = None,
    at: date | None = None,
    period: By = "month",
    learn: bool = True,
    trials: int = DELAY_TRIALS,
    seed: int = SEED,
    workers: int = 1,
    executor: Executor | None = None,
    on_done: Callable[[int], None] = lambda _: None,
) -> Delay:
    """Play the site once more without events: days of the finish and of every contract date.

    Parameters
    ----------
    scenario : Scenario
        From `load`: as it was planned, without the events.
    progress, log, wind, at, learn
        The record, as of `update`.
    events : path
        What befell: a row an event, with what of the scenario it struck.
    period : "month" or "sheet"
        Whether a period ends with the last sheet of a month or with every sheet.
    trials, seed : int
        Of every replay: two an event, one a set of up to six events, and as many again a period.
    workers, executor, on_done
        As of `forecast`.

    Returns
    -------
    Delay
        DataFrames from `frame`, figures from `plot`, every trial's days in `detail`.

    Raises
    ------
    InputError
        With every fault of all files, for an event that changes nothing, or for a scenario that cannot be
        run.

    Examples
    --------
    >>> from towerpace import delay, load
    >>> site = "scenarios/gannet_wharf"
    >>> files = {name: f"{site}/record/{name}.csv" for name in ("progress", "log", "wind", "events")}
    >>> cost = delay(load(f"{site}/scenario.toml"), **files, trials=2)
    >>> cost.frame("events")["event"].tolist()
    ['level 9', 'hoist', 'level 20']
    """
    check_numbers(
        scenario.path, {"trials": (trials, 1, None), "seed": (seed, 0, None), "workers": (workers, 1, None)}
    )
    if period not in PERIODS:
        raise InputError([Fault("command line", None, "period", str(period), " or ".join(PERIODS))])
    files = {"progress": progress, "log": log, "wind": wind}
    paths = {name: Path(path) for name, path in files.items() if path is not None}
    ready = prepare(scenario)
    record = read_site_record(scenario, ready.tower, at=at, **paths)
    record, reading = read_beside(record, events, scenario=scenario, at=at, learn=learn)
    if not reading.events:
        allowed = "an event that had begun by the data date"
        raise InputError([Fault(str(events), None, "from", f"no day up to {record.at}", allowed)])
    with team_of(workers, executor) as team:
        how = TrialsOf(trials, seed, team, on_done)
        detail = answers.delay(ready, record, how, reading=reading, by=period)
    return Delay(said(detail), detail)
