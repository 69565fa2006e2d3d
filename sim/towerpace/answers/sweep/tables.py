"""Tables of a study on disk, as Parquet and CSV: the same bytes for the same rows."""

from __future__ import annotations

import csv
import os
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from functools import lru_cache
from importlib import import_module
from importlib.util import find_spec
from itertools import islice
from pathlib import Path
from typing import Any, TextIO

from towerpace.answers.sweep.design import NUMBER, TEXT, TRUTH, WHOLE
from towerpace.scenario.guarded import guarded, must_be_quoted, unguarded

Row = tuple[Any, ...]
ROWS_AT_ONCE = 10_000  # of a combined table in memory, and of a row group of its file


@dataclass(frozen=True)
class Columns:
    """Columns of a table in order: names, and what each holds."""

    names: tuple[str, ...]
    kinds: tuple[str, ...]

    def parsed(self, cells: Sequence[str]) -> Row:
        """A row from the cells of a CSV file; raises `ValueError` for one that is not as written here."""
        return tuple(_parsed(cell, kind) for cell, kind in zip(cells, self.kinds, strict=True))


def _parsed(cell: str, kind: str) -> object:
    if kind == TEXT:
        return unguarded(cell)
    if kind == TRUTH:
        if cell not in ("True", "False"):
            raise ValueError(f"{cell[:20]!r} is neither True nor False")
        return cell == "True"
    if not cell:
        return None
    if kind != WHOLE:
        return float(cell)
    number = int(cell)
    if not -(2**63) <= number < 2**63:
        raise ValueError("a whole number beyond 64 bits")
    return number


def has_parquet() -> bool:
    """Whether pyarrow is installed."""
    return find_spec("pyarrow") is not None


def write_whole(*paths: Path, rows: Iterable[Row], columns: Columns, lasting: bool = False) -> None:
    """Write a table, by suffix, in one pass to every path; under its name only when it is complete.

    lasting : even if the power fails right after; costs milliseconds, so not for what can be done again.
    """
    temporary = [path.with_name(f".{path.name}.{os.getpid()}.tmp") for path in paths]
    with ExitStack() as open_until_done:
        writers = [open_until_done.enter_context(_writer(path, columns)) for path in temporary]
        left = iter(rows)
        while group := list(islice(left, ROWS_AT_ONCE)):
            for write in writers:
                write(group)
    for written, path in zip(temporary, paths, strict=True):
        if lasting:
            with written.open("rb+") as file:
                os.fsync(file.fileno())
        written.replace(path)


@contextmanager
def _writer(path: Path, columns: Columns) -> Iterator[Callable[[list[Row]], None]]:
    """Takes groups of rows; by the suffix that the finished table will have."""
    if ".csv." in path.name:
        with path.open("w", encoding="utf-8", newline="") as file:
            yield _rows_into(file, columns)
        return
    pa, pq = import_module("pyarrow"), import_module("pyarrow.parquet")
    schema = _schema(columns)
    # A file of Arrow's own: looking for the file system of a path takes longer than writing a part.
    with pa.OSFile(str(path), "wb") as file, pq.ParquetWriter(file, schema) as parquet:
        yield lambda group: parquet.write_table(_arrow(pa, group, schema=schema))


def _rows_into(file: TextIO, columns: Columns) -> Callable[[list[Row]], None]:
    """Takes groups of rows of a CSV for people's spreadsheets: no word in it is taken for a formula."""
    # Python writes the shortest digits that give the same number back.
    plain = csv.writer(file, lineterminator="\n")
    quoting = csv.writer(file, lineterminator="\n", quoting=csv.QUOTE_ALL)
    words = [place for place, kind in enumerate(columns.kinds) if kind == TEXT]

    def write(cells: Row | list[Any], places: Iterable[int]) -> None:
        guarded_cells = list(cells)
        for place in places:
            guarded_cells[place] = guarded(cells[place])
        is_odd = any(must_be_quoted(guarded_cells[place]) for place in places)
        (quoting if is_odd else plain).writerow(guarded_cells)

    write(columns.names, range(len(columns.names)))

    def write_group(group: list[Row]) -> None:
        for row in group:
            write(row, words)

    return write_group


def _arrow(pa: Any, group: list[Row], *, schema: Any) -> Any:
    filled = zip(zip(*group, strict=True), schema.types, strict=True)
    return pa.Table.from_arrays([pa.array(list(cells), kind) for cells, kind in filled], schema=schema)


@lru_cache(maxsize=8)
def _schema(columns: Columns) -> Any:
    pa = import_module("pyarrow")
    types = {WHOLE: pa.int64(), NUMBER: pa.float64(), TEXT: pa.string(), TRUTH: pa.bool_()}
    return pa.schema([(n, types[kind]) for n, kind in zip(columns.names, columns.kinds, strict=True)])


def read_rows(path: Path, *, columns: Columns) -> list[Row]:
    """Rows of a table.

    Raises `ValueError` or `OSError` for a file that is not whole or has other columns.
    """
    if path.suffix == ".csv":
        return list(csv_rows(path, columns=columns))
    table = import_module("pyarrow.parquet").ParquetFile(path).read(use_threads=False)
    if tuple(table.column_names) != columns.names:
        raise ValueError(f"columns {', '.join(table.column_names)}")
    return list(zip(*(column.to_pylist() for column in table.columns), strict=True))


def csv_rows(path: Path, *, columns: Columns) -> Iterator[Row]:
    """Rows of a CSV table one by one; raises as `read_rows`."""
    with path.open(encoding="utf-8", newline="") as file:
        reader = csv.reader(file)
        try:
            if tuple(map(unguarded, next(reader, ()))) != columns.names:
                raise ValueError("other columns")
            for cells in reader:
                if len(cells) != len(columns.names):
                    raise ValueError(f"line {reader.line_num}: {len(cells)} cells")
                yield columns.parsed(cells)
        except csv.Error as error:
            raise ValueError(f"line {reader.line_num}: {error}") from None
