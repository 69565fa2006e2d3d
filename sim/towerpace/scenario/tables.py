"""CSV tables with the line of every row, and the columns of samples."""

import csv
import datetime as dt
import math
import os
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from io import StringIO
from pathlib import Path

from towerpace.faults import Fault, nearest_word
from towerpace.scenario.complaints import Complaint, RefusalError, listed, shown
from towerpace.scenario.guarded import unguarded
from towerpace.scenario.unseen import ALLOWED, unseen_in

_DAY = re.compile(r"\d{4}-\d\d-\d\d")
UNNAMED = "a column without a name"
FILE_ALLOWED = "a file, its path relative to the scenario file"


@dataclass(frozen=True, slots=True)
class Row:
    """One row: its line in the file, and its cells by column, without white space around them."""

    line: int
    cells: dict[str, str]


@dataclass(frozen=True, slots=True)
class CsvTable:
    """A table as read; rows of the wrong width are faults and left out."""

    file: str
    columns: tuple[str, ...]
    rows: tuple[Row, ...]
    faults: tuple[Fault, ...]


def read_table(path: Path, *, shown_as: str) -> CsvTable:
    """Read a CSV file whose first line names the columns.

    Parameters
    ----------
    path : Path
        An existing file; UTF-8, commas between cells.
    shown_as : str
        Name of the file in faults.
    """
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (UnicodeDecodeError, OSError) as error:
        reason = "bytes that are no UTF-8" if isinstance(error, UnicodeDecodeError) else str(error.strerror)
        return CsvTable(shown_as, (), (), (Fault(shown_as, None, "file", reason, "a CSV file in UTF-8"),))
    reader = csv.reader(StringIO(text), strict=True)
    try:
        numbered = [(reader.line_num, [unguarded(_one_line(cell)) for cell in cells]) for cells in reader]
    except csv.Error as error:
        fault = Fault(shown_as, reader.line_num, "row", str(error), "cells with commas between them")
        return CsvTable(shown_as, (), (), (fault,))
    numbered = _without_empty_edges(numbered)
    columns = tuple(numbered[0][1]) if numbered else ()
    faults = [*_unseen_faults(numbered, shown_as=shown_as), *_header_faults(columns, shown_as=shown_as)]
    if faults:
        return CsvTable(shown_as, columns, (), tuple(faults))
    rows = [
        Row(line, dict(zip(columns, cells, strict=True)))
        for line, cells in numbered[1:]
        if len(cells) == len(columns)
    ]
    odd = [(line, len(cells)) for line, cells in numbered[1:] if cells and len(cells) != len(columns)]
    faults = _width_faults(odd, width=len(columns), shown_as=shown_as)
    return CsvTable(shown_as, columns, tuple(rows), tuple(faults))


def _without_empty_edges(numbered: list[tuple[int, list[str]]]) -> list[tuple[int, list[str]]]:
    """The table without empty rows below it and empty columns beside it, as spreadsheets leave them."""
    while numbered and not any(numbered[-1][1]):
        numbered = numbered[:-1]
    if not numbered:
        return numbered
    width = len(_stripped(numbered[0][1], width=0))
    return [(line, _stripped(cells, width=width)) for line, cells in numbered]


def _stripped(cells: list[str], *, width: int) -> list[str]:
    """Cells without the empty ones at the end, but for so many."""
    while len(cells) > width and not cells[-1]:
        cells = cells[:-1]
    return cells


def _one_line(cell: str) -> str:
    """A cell without the white space around it, its lines and tabs in one line."""
    return cell.strip().replace("\n", " ").replace("\t", " ")


def _unseen_faults(numbered: list[tuple[int, list[str]]], *, shown_as: str) -> Iterator[Fault]:
    """One fault for each sign that nobody sees, at its first row."""
    told: set[str] = set()
    for line, cells in numbered:
        for k, cell in enumerate(cells):
            found = unseen_in(cell)
            if found and found not in told:
                told.add(found)
                yield Fault(shown_as, line, f"cell {k + 1}", found, ALLOWED)


def _width_faults(odd: list[tuple[int, int]], *, width: int, shown_as: str) -> list[Fault]:
    """One fault for each wrong number of cells, at its first row."""
    faults = []
    for number in dict.fromkeys(cells for _, cells in odd):
        lines = [line for line, cells in odd if cells == number]
        found = "1 cell" if number == 1 else f"{number} cells"
        more = f", so too in {len(lines) - 1} more rows" if len(lines) > 1 else ""
        allowed = f"{width} cells, as in the first line"
        faults.append(Fault(shown_as, lines[0], "row", found + more, allowed))
    return faults


def _header_faults(columns: tuple[str, ...], *, shown_as: str) -> list[Fault]:
    if len(columns) <= 1 < "".join(columns).count(";") + 1:
        return [Fault(shown_as, 1, "header", "semicolons", "commas between cells, points in numbers")]
    twice = sorted({column for column in columns if columns.count(column) > 1})
    return [Fault(shown_as, 1, column or UNNAMED, "the column twice", "each column once") for column in twice]


@dataclass(frozen=True, slots=True)
class Folder:
    """The folder of a scenario, from which its files are read.

    Parameters
    ----------
    path : Path
        The folder.
    faults : list of Fault
        Grows with the faults of the sample files that are read.
    """

    path: Path
    faults: list[Fault] = field(default_factory=list)

    def shown(self, name: str) -> str:
        """A file of the folder, named as the user named the scenario."""
        return os.path.normpath(self.path / name)

    def existing(self, name: str) -> Path:
        """Path of a file.

        Raises
        ------
        RefusalError
            If there is no such file.
        """
        path = self.path / name
        try:
            if path.is_file():
                return path
        except OSError as error:  # a name that no file can have, as one of 300 letters
            found = f"a name that no file can have: {error.strerror}"
            raise RefusalError([Complaint((), found, FILE_ALLOWED, cause=found)]) from None
        if _is_windows_path(name) and os.sep == "/":
            found = f"a path of another system, {shown(name)}"
            raise RefusalError([Complaint((), found, f"{FILE_ALLOWED}, with / between folders")])
        if not path.parent.is_dir():
            found = f"missing folder {os.path.dirname(self.shown(name))}"
            raise RefusalError([Complaint((), found, FILE_ALLOWED, cause=found)])
        nearest = nearest_word(path.name, [entry.name for entry in path.parent.iterdir()])
        found = f"missing file {self.shown(name)}"
        raise RefusalError([Complaint((), found, FILE_ALLOWED, nearest, cause=found)])

    def samples(self, name: str, column: str) -> list[float]:
        """Samples of one column of a CSV file.

        Raises
        ------
        RefusalError
            If the file, its column or two good samples are missing; bad rows are added to `faults`.
        """
        try:
            table = read_table(self.existing(name), shown_as=self.shown(name))
        except RefusalError as refused:
            raise RefusalError([complaint.under(("samples",)) for complaint in refused.complaints]) from None
        bad_rows = list(table.faults)
        if column not in table.columns and not bad_rows:
            nearest = nearest_word(column, table.columns)
            raise RefusalError([Complaint(("column",), shown(column), listed(table.columns), nearest)])
        samples = []
        for row in table.rows:
            number = finite_number(row.cells.get(column, ""))
            if number is None:
                found = cell_shown(row.cells.get(column, ""))
                bad_rows.append(Fault(table.file, row.line, column, found, "a number"))
            else:
                samples.append(number)
        self.faults.extend(fault for fault in bad_rows if fault not in self.faults)
        if len(samples) < 2 and not bad_rows:
            raise RefusalError([Complaint(("samples",), f"{len(samples)} samples", "at least two samples")])
        # With bad rows the scenario is refused anyway; any spread lets the other checks go on.
        return samples if len(samples) >= 2 else [1.0, 1.0]


def _is_windows_path(name: str) -> bool:
    return "\\" in name or name[1:3] == ":/"


def finite_number(cell: str) -> float | None:
    """The number in a cell, or None."""
    try:
        number = float(cell)
    except ValueError:
        return None
    return number if math.isfinite(number) else None


def day_in(cell: str) -> dt.date | None:
    """The date in a cell, as 2027-03-01, or None."""
    if not _DAY.fullmatch(cell):
        return None
    try:
        return dt.date.fromisoformat(cell)
    except ValueError:
        return None


def cell_shown(cell: str) -> str:
    """A cell in words."""
    return shown(cell) if cell else "an empty cell"
