"""Tables of an answer as DataFrames and as CSV or Parquet files, each column kept as its kind says."""

from __future__ import annotations

import csv
import os
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from functools import cached_property
from typing import TYPE_CHECKING, Any

from towerpace.answers.said.answer import Answer, Run
from towerpace.answers.said.kinds import Kind, On
from towerpace.answers.said.tables import Column, Row, Table, Value
from towerpace.scenario.guarded import guarded, must_be_quoted, unguarded

if TYPE_CHECKING:
    from pandas import DataFrame

HASH_SHOWN = 12  # characters of the scenario hash that files and figures carry
STAMP = (
    Column("scenario_hash", Kind.NAME, about="first letters of the scenario's hash"),
    Column("seed", Kind.COUNT, about="seed of all random numbers"),
    Column("version", Kind.NAME, about="version of the program"),
)
_WORDS = (Kind.NAME, Kind.TEXT)
_DTYPES = {
    Kind.NAME: "str",
    Kind.TEXT: "str",
    Kind.DATE: "datetime64[s]",
    Kind.TRUTH: "boolean",
    Kind.COUNT: "Int64",
    Kind.WORKING_DAY: "Int64",
    Kind.MINUTES: "Int64",
}


class Framed(Mapping[str, "DataFrame"]):
    """The tables of an answer as DataFrames by name, each made when it is first asked for.

    run : what the answer was made from. answer : itself.
    """

    def __init__(self, answer: Answer) -> None:
        self.answer = answer
        self._tables = {table.name: table for table in answer.tables}
        self._made: dict[str, DataFrame] = {}

    @cached_property
    def run(self) -> Run:
        """What the answer was made from."""
        return self.answer.run

    def __getitem__(self, name: str) -> DataFrame:
        if name not in self._made:
            self._made[name] = frame(self._tables[name])
        return self._made[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self._tables)

    def __len__(self) -> int:
        return len(self._tables)


def frame(table: Table) -> DataFrame:
    """A table as a DataFrame: a column a column, blanks missing, dates as datetimes."""
    import pandas as pd

    return pd.DataFrame(
        {
            column.name: _series([row[k] for row in table.rows], column)
            for k, column in enumerate(table.columns)
        }
    )


def stamped(table: Table, run: Run) -> Table:
    """The table with the run on every row, as files carry it; raises `ValueError` for a name of its stamp."""
    if clash := {column.name for column in table.columns} & {column.name for column in STAMP}:
        raise ValueError(f"table {table.name}: a column {', '.join(clash)} beside that of the run")
    mark = (run.hash[:HASH_SHOWN], run.seed, run.version)
    columns = (*table.columns, *STAMP)
    return Table(table.name, table.title, columns, tuple((*row, *mark) for row in table.rows))


def _series(values: Sequence[Any], column: Column) -> object:
    import pandas as pd

    dtype = _DTYPES.get(column.kind, "float64")
    if column.kind is Kind.DATE:
        return pd.Series(pd.to_datetime(pd.Series(list(values), dtype="object")), dtype=dtype)
    if dtype == "str":
        return pd.Series(["" if value is None else str(value) for value in values], dtype=dtype)
    if dtype in ("Int64", "boolean"):
        return pd.Series(list(values), dtype=dtype)
    return pd.Series(values, dtype=dtype)


def write_table(table: Table, stem: str | os.PathLike[str], *, run: Run, parquet: bool = False) -> None:
    """Write STEM.csv, and STEM.parquet on request: the same bytes for the same table.

    In the CSV, which people open in a spreadsheet, no word is taken for a formula (`guarded`).
    """
    whole = stamped(table, run)
    framed = frame(whole)
    words = {c.name: framed[c.name].map(guarded) for c in whole.columns if c.kind in _WORDS}
    is_odd = any(column.map(must_be_quoted).any() for column in words.values())
    framed.assign(**words).to_csv(
        f"{os.fspath(stem)}.csv",
        index=False,
        lineterminator="\n",
        date_format="%Y-%m-%d",
        quoting=csv.QUOTE_NONNUMERIC if is_odd else csv.QUOTE_MINIMAL,
    )
    if parquet:
        framed.to_parquet(f"{os.fspath(stem)}.parquet", engine="pyarrow", index=False)


def read_rows(path: str | os.PathLike[str], table: Table) -> list[Row]:
    """The rows of a table from its CSV.

    Raises `ValueError` where the columns or cells are not those of the table.
    """
    import pandas as pd

    # Names such as "NA" are words of the user: only an empty cell is blank.
    raw: Any = pd.read_csv(path, dtype="str", keep_default_na=False)
    columns = (*table.columns, *STAMP)
    if list(raw.columns) != [column.name for column in columns]:
        raise ValueError(f"columns {', '.join(raw.columns)}")
    cells = [[parsed(_word(text, column), column) for text in raw[column.name]] for column in table.columns]
    return list(zip(*cells, strict=True))


def _word(text: str, column: Column) -> str:
    return unguarded(text) if column.kind in _WORDS else text


def parsed(text: str, column: Column) -> Value:
    """A cell of a file as the value that was written; raises `ValueError` for what is none."""
    if text == "":
        return None
    if column.kind in _WORDS:
        return text
    if column.kind is Kind.DATE:
        return date.fromisoformat(text)
    if column.kind is Kind.TRUTH:
        return {"True": True, "False": False}.get(text) if text in ("True", "False") else _no(text)
    return int(text) if column.kind.is_whole else float(text)


def _no(text: str) -> Value:
    raise ValueError(f"{text} where True or False is expected")


def seen_in_files(answer: Answer) -> list[Table]:
    """The tables that a folder holds, a CSV each."""
    return answer.tables_on(On.FILE)
