"""Reading a study's folder into pandas, finished or not."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from towerpace.answers.sweep.design import NUMBER, TEXT, TRUTH, WHOLE
from towerpace.answers.sweep.store import COMBINED, Store, read_manifest
from towerpace.answers.sweep.tables import Columns, Row, has_parquet, read_rows
from towerpace.faults import Fault, InputError
from towerpace.scenario.guarded import guarded, unguarded

if TYPE_CHECKING:
    from pandas import DataFrame

    from towerpace.answers.sweep.study_frame import StudyFrame

_DTYPES = {WHOLE: "int64", NUMBER: "float64", TEXT: "str", TRUTH: "bool"}


def load_study(folder: str | os.PathLike[str]) -> StudyFrame:
    """Results of a study, tidy: one row a point and response; of an unfinished one, what is done.

    Returns
    -------
    StudyFrame
        A DataFrame of point, the factors, response, value, low, high, trials, scenario_hash, seed, version;
        units and meanings stand in `columns.csv`. `attrs` has name, points, done, design, draws, factors and
        responses; `effects`, `metamodel` and `to_xarray` reckon with them.

    Raises
    ------
    InputError
        If the folder is none of a study, or its table is damaged.
    """
    from towerpace.answers.sweep.study_frame import StudyFrame

    store = Store(Path(folder), read_manifest(folder))
    combined = store.folder / f"{COMBINED}.csv"
    manifest = store.manifest
    if combined.is_file():
        frame = _whole(combined, store.columns)
        done = manifest.points
    else:
        numbers = sorted(store.done())
        frame = _frame((row for number in numbers for row in store.rows(number)), store.columns)
        done = len(numbers)
    study = StudyFrame(frame)
    study.attrs.update(
        name=manifest.name, points=manifest.points, done=done, design=manifest.design, draws=manifest.draws
    )
    study.attrs.update(factors=list(manifest.factors), responses=list(manifest.responses))
    return study


def load_trials(folder: str | os.PathLike[str]) -> DataFrame:
    """Trials of a study that keeps them: one row a point and trial, one column a quantity, in its unit."""
    store = Store(Path(folder), read_manifest(folder))
    return _frame(_trial_rows(store), store.trial_columns)


def _trial_rows(store: Store) -> Iterator[Row]:
    paths = sorted((store.folder / "trials").glob("point-*"))
    for path in paths:
        if path.suffix == ".csv" or has_parquet():
            yield from read_rows(path, columns=store.trial_columns)


def _frame(rows: Iterator[Row], columns: Columns) -> DataFrame:
    import pandas as pd

    frame = pd.DataFrame(list(rows), columns=list(columns.names))
    return frame.astype(_types(columns))


def _whole(path: Path, columns: Columns) -> DataFrame:
    """The combined table; raises `InputError` where somebody has damaged it."""
    try:
        return _read_csv(path, columns)
    except (OSError, ValueError, KeyError, OverflowError) as error:
        found = f"damaged: {str(error).splitlines()[0] if str(error) else 'empty'}"
        allowed = "the table that the sweep wrote; started again, it writes it anew from its parts"
        raise InputError([Fault(str(path), None, "table", found, allowed)]) from None


def _read_csv(path: Path, columns: Columns) -> DataFrame:
    import pandas as pd

    numbers = [n for n, kind in zip(columns.names, columns.kinds, strict=True) if kind == NUMBER]
    types = {guarded(n): kind for n, kind in (_types(columns) | dict.fromkeys(numbers, "str")).items()}
    # A label such as "NA" is a word of the user; only an empty number is blank.
    frame = pd.read_csv(path, dtype=types, keep_default_na=False)
    frame.columns = frame.columns.map(unguarded)
    if tuple(frame.columns) != columns.names:
        raise ValueError("other columns")
    for name in (n for n, kind in zip(columns.names, columns.kinds, strict=True) if kind == TEXT):
        frame[name] = frame[name].map(unguarded)
    for name in numbers:
        # Not every reader of CSV gives back the very number that was written; Python's own does.
        frame[name] = [float(text) if text else float("nan") for text in frame[name]]
    return frame


def _types(columns: Columns) -> dict[str, str]:
    return {name: _DTYPES[kind] for name, kind in zip(columns.names, columns.kinds, strict=True)}
