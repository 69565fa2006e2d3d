"""The forecast while the site runs: from its progress, its weather and what it has taught."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from concurrent.futures import Executor
from contextlib import contextmanager
from datetime import date
from pathlib import Path

from towerpace.answers.prepare import prepare
from towerpace.answers.update import update as answers
from towerpace.answers.update.update import Updated
from towerpace.answers.update.update_said import UPDATE_FIGURES, UPDATE_TABLES, said
from towerpace.face.asked import check_numbers
from towerpace.face.defaults import SEED, UPDATE_TRIALS
from towerpace.face.result import Result, explained
from towerpace.faults import Fault, InputError
from towerpace.record.site_record import read_site_record
from towerpace.render.saved.answer_file import load_saved
from towerpace.scenario.load import Scenario, load
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
    since: FilePath | None = None,
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
    since : path, optional
        Results folder of the last update, or of a forecast: what "before" is; by default the start. Its
        scenario must still stand where it was.
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
    record = read_site_record(scenario, ready.tower, at=at, **paths)
    earlier = None if since is None else _since(since, scenario, at=at, paths=paths)
    with team_of(workers, executor) as team:
        player = answers.Player(trials, seed, team, on_done)
        updated = answers.update(ready, record, player, learn=learn, since=earlier)
    return Update(said(updated), updated)


@contextmanager
def team_of(workers: int, executor: Executor | None) -> Iterator[Executor | None]:
    """Who plays: an executor of the caller, this process alone, or a team of our own."""
    if executor is not None or workers == 1:
        yield executor
        return
    with Team(workers) as team:
        yield team


def _since(folder: FilePath, scenario: Scenario, *, at: date | None, paths: dict[str, Path]) -> answers.Since:
    """What an update goes on from: the scenario of a results folder, with its data date."""
    answer = load_saved(folder).answer
    if answer.question not in ("update", "forecast"):
        found = f"results of {answer.question}"
        raise InputError([Fault(str(folder), None, "since", found, "results of update or forecast")])
    if answer.run.hash != scenario.hash:
        scenario = load(answer.run.path)
    if answer.run.hash != scenario.hash:
        found, allowed = (
            f"{answer.run.path}, which has changed since",
            "the scenario as it was, under its name",
        )
        raise InputError([Fault(str(folder), None, "since", found, allowed)])
    ready = prepare(scenario)
    day = answer.fact("data_date") if answer.question == "update" else None
    record = read_site_record(scenario, ready.tower, at=at, **paths)
    return answers.Since(ready, record, day if isinstance(day, date) else None)
