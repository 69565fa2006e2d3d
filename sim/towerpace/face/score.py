"""Earlier forecasts marked by what came, and promises settled."""

from __future__ import annotations

import os
from collections.abc import Sequence
from datetime import date
from pathlib import Path

from towerpace.answers.prepare import prepare
from towerpace.answers.said.answer import Answer
from towerpace.answers.score import score as answers
from towerpace.answers.score.score import Score as Detail
from towerpace.answers.score.score_said import SCORE_FIGURES, said
from towerpace.answers.score.score_tables import SCORE_TABLES
from towerpace.answers.seen.site_state import as_planned_times, site_state
from towerpace.face.as_it_was import scenario_as_it_is
from towerpace.face.result import Result, explained
from towerpace.faults import Fault, InputError
from towerpace.record.promises import Promise, read_promises
from towerpace.record.site_record import read_site_record
from towerpace.render.saved.answer_file import load_saved
from towerpace.scenario.load import Scenario

FilePath = str | os.PathLike[str]
MARKED = ("forecast", "update", "ahead")
LEAST_TRIALS = 3


@explained(SCORE_TABLES, figures=SCORE_FIGURES)
class Score(Result[Detail]):
    """Marks of forecasts, what came beside them, and what became of promises."""


def score(
    results: FilePath | Sequence[FilePath],
    progress: FilePath,
    *,
    scenario: Scenario | None = None,
    log: FilePath | None = None,
    wind: FilePath | None = None,
    at: date | None = None,
    promises: FilePath | None = None,
) -> Score:
    """Mark earlier forecasts by what came.

    Parameters
    ----------
    results : path or sequence of paths
        Results folders of `forecast` and `update`, and of `ahead` for the chances of promises.
    progress, log, wind, at
        The record, as of `update`.
    scenario : Scenario, optional
        Of the site; by default that of the last results, from the working folder or any folder above them.
    promises : path, optional
        What was promised: those that are due are settled.

    Returns
    -------
    Score
        DataFrames from `frame`, the marks in `detail`.

    Raises
    ------
    InputError
        With every fault of all files, for results that cannot be marked, or where no forecast is older than
        the record.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> from towerpace import forecast, load, score
    >>> site = "scenarios/gannet_wharf"
    >>> with TemporaryDirectory() as place:
    ...     start = forecast(load(f"{site}/scenario.toml"), trials=8).save(f"{place}/start")
    ...     marked = score(start, f"{site}/record/progress.csv")
    >>> marked.frame("marks")[["marked", "come"]].values.tolist()
    [[35, 22]]
    """
    folders = [results] if isinstance(results, str | os.PathLike) else list(results)
    saved = _read(folders)
    whole = scenario or scenario_as_it_is(saved[-1][1], Path(folders[-1]))
    ready = prepare(whole)
    files = {"progress": progress, "log": log, "wind": wind}
    paths = {name: Path(path) for name, path in files.items() if path is not None}
    record = read_site_record(whole, ready.tower, at=at, **paths)
    promised = tuple[Promise, ...]()
    if promises is not None:
        if not Path(promises).is_file():
            raise InputError([Fault(str(promises), None, "file", "missing file", "a CSV file")])
        promised, faults = read_promises(Path(promises), words=record.words, start=record.start)
        if faults:
            raise InputError(faults)
    past = site_state(ready, record, planned=as_planned_times(ready), learn=False).past
    detail = answers.score(ready, record, past, answers=saved, promises=promised)
    if not detail.marked:
        allowed = f"results of a forecast, or of an update before {record.at}"
        raise InputError([Fault("results", None, "data date", "none older than the record", allowed)])
    return Score(said(detail), detail)


def _read(folders: Sequence[FilePath]) -> list[tuple[str, Answer]]:
    saved = [(Path(folder).name, load_saved(folder).answer) for folder in folders]
    faults = []
    for folder, (_, answer) in zip(folders, saved, strict=True):
        if answer.question not in MARKED:
            allowed = "results of forecast, update or ahead"
            faults.append(Fault(str(folder), None, "results", f"results of {answer.question}", allowed))
        elif answer.question != "ahead" and not _has_trials(answer):
            allowed = "a table finish with the closing-in of every trial: run it again"
            faults.append(Fault(str(folder), None, "finish", "results of an earlier version", allowed))
        elif answer.question != "ahead" and (n := len(answer.table("finish").rows)) < LEAST_TRIALS:
            allowed = f"at least {LEAST_TRIALS}: each is marked against the others"
            faults.append(
                Fault(str(folder), None, "finish", f"{n} {'trial' if n == 1 else 'trials'}", allowed)
            )
    if not saved:
        faults.append(Fault("score", None, "results", "no folder", "at least one results folder"))
    if faults:
        raise InputError(faults)
    return saved


def _has_trials(answer: Answer) -> bool:
    tables = {table.name: table for table in answer.tables}
    return "finish" in tables and any(column.name == "closing_in" for column in tables["finish"].columns)
