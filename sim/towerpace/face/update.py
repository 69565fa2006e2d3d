"""The forecast while the site runs: from its progress, its weather and what it has taught."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from concurrent.futures import Executor
from contextlib import contextmanager
from datetime import date
from functools import partial
from pathlib import Path

from towerpace.answers.prepare import Prepared, prepare
from towerpace.answers.update import update as answers
from towerpace.answers.update.held_dates import HeldDates, held_by
from towerpace.answers.update.update import Updated
from towerpace.answers.update.update_said import UPDATE_FIGURES, said
from towerpace.answers.update.update_tables import UPDATE_TABLES
from towerpace.face.as_it_was import scenario_as_it_was
from towerpace.face.asked import check_numbers
from towerpace.face.befell import read_beside
from towerpace.face.defaults import SEED, UPDATE_TRIALS
from towerpace.face.result import Result, explained
from towerpace.faults import Fault, InputError
from towerpace.record.site_record import SiteRecord, read_site_record
from towerpace.render.saved.answer_file import load_saved
from towerpace.scenario.load import Scenario
from towerpace.trials.team import Team

FilePath = str | os.PathLike[str]


@explained(UPDATE_TABLES, figures=UPDATE_FIGURES)
class Update(Result[Updated]):
    """What the finish is worth now, what moved it, what the site has shown, and the trend."""


def update(
    scenario: Scenario,
    progress: FilePath,
    *,
    log: FilePath | None = None,
    wind: FilePath | None = None,
    at: date | None = None,
    events: FilePath | None = None,
    since: FilePath | None = None,
    since_scenario: Scenario | None = None,
    baseline: FilePath | None = None,
    learn: bool = True,
    trials: int = UPDATE_TRIALS,
    seed: int = SEED,
    workers: int = 1,
    executor: Executor | None = None,
    on_done: Callable[[int], None] = lambda _: None,
) -> Update:
    """Forecast from what is built: before and now, what moved it, and its trend over the data dates.

    Parameters
    ----------
    scenario : Scenario
        From `load`: as it is now, which need not be as it was when the record was begun.
    progress : path
        The sheet of progress.
    log, wind : path, optional
        The log, and the hours measured on the site.
    at : date, optional
        The data date; by default the last day of the sheet.
    events : path, optional
        What befell, as of `delay`: it dates late levels and trucks that no row dates, units that were out are
        away meanwhile, and work that was held teaches nothing of its pace.
    since : path, optional
        Results folder of the last update, or of a forecast: what "before" is; by default the start. Its
        scenario may be another one; it is looked for under its name, here and above that folder.
    since_scenario : Scenario, optional
        That scenario as it was, where it no longer stands there.
    baseline : path, optional
        Results folder of `baseline`: dates to hold the work to, told beside what they are worth now; by
        default what four trials in five kept at the start.
    learn : bool
        Whether paces are learned: from the log, or without one from the counts of the sheet.
    trials, seed : int
        Of every forecast: one before, one for each thing that became known, and one a data date.
    workers, executor, on_done
        As of `forecast`.

    Returns
    -------
    Update
        DataFrames from `frame`, figures from `plot`, the forecasts in `detail`.

    Raises
    ------
    InputError
        With every fault of all files, or for a scenario that cannot be run.

    Examples
    --------
    >>> from towerpace import load, update
    >>> site = "scenarios/gannet_wharf"
    >>> files = {name: f"{site}/record/{name}.csv" for name in ("progress", "log", "wind")}
    >>> result = update(load(f"{site}/scenario.toml"), **files, trials=4)
    >>> result.frame("moves")["cause"].tolist()
    ['progress', 'weather', 'learned']
    """
    check_numbers(
        scenario.path, {"trials": (trials, 1, None), "seed": (seed, 0, None), "workers": (workers, 1, None)}
    )
    files = {"progress": progress, "log": log, "wind": wind}
    paths = {name: Path(path) for name, path in files.items() if path is not None}
    ready = prepare(scenario)
    beside = partial(read_beside, events=events, at=at, learn=learn)
    record, reading = beside(read_site_record(scenario, ready.tower, at=at, **paths), scenario=scenario)
    earlier = None
    if since is not None:
        then, day, told = _since(Path(since), (scenario, since_scenario), record=record)
        own = read_site_record(then.scenario, then.tower, at=at, **paths)
        earlier = answers.Since(then, *beside(own, scenario=then.scenario), day, told)
    held = None if baseline is None else _held(baseline, ready)
    with team_of(workers, executor) as team:
        player = answers.Player(trials, seed, team, on_done)
        updated = answers.update(ready, record, player, reading=reading, since=earlier, held=held)
    return Update(said(updated), updated)


@contextmanager
def team_of(workers: int, executor: Executor | None) -> Iterator[Executor | None]:
    """Who plays: an executor of the caller, this process alone, or a team of our own."""
    if executor is not None or workers == 1:
        yield executor
        return
    with Team(workers) as team:
        yield team


def _since(
    folder: Path, scenarios: tuple[Scenario, Scenario | None], *, record: SiteRecord
) -> tuple[Prepared, date | None, answers.Told]:
    """What an update goes on from: the scenario of a results folder, its data date, and what it tells.

    scenarios : as it is now, and as it was if the user names it. record : of the scenario as it is now.
    """
    now, given = scenarios
    answer = load_saved(folder).answer
    if answer.question not in ("update", "forecast"):
        found = f"results of {answer.question}"
        raise InputError([Fault(str(folder), None, "since", found, "results of update or forecast")])
    day = answer.fact("data_date") if answer.question == "update" else None
    if isinstance(day, date) and day > record.at:
        allowed = f"results of a data date up to that of this update, {record.at}"
        raise InputError([Fault(str(folder), None, "since", f"results of {day}", allowed)])
    then = prepare(scenario_as_it_was(answer, folder, key="since", now=now, given=given))
    table = answer.table("percentiles")
    dates = dict(zip(table.column("percentile"), table.column("finish"), strict=True))
    p80 = dates.get("P80")
    told = answers.Told(str(folder), p80 if isinstance(p80, date) else None)
    return then, day if isinstance(day, date) else None, told


def _held(folder: FilePath, ready: Prepared) -> HeldDates:
    """The dates of a saved baseline."""
    answer = load_saved(folder).answer
    fault = partial(Fault, str(folder), None, "baseline")
    if answer.question != "baseline":
        raise InputError([fault(f"results of {answer.question}", "results of baseline")])
    if all(fact.column.name != "confidence" for fact in answer.facts):
        raise InputError([fault("results of an earlier version", "results of this one: run it again")])
    if answer.run.scenario != ready.tower.name:
        raise InputError([fault(f"dates of {answer.run.scenario}", f"a baseline of {ready.tower.name}")])
    return held_by(answer, folder=str(folder))
