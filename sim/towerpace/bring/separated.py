"""Text tables: cells with a separator between them, in any of the ways that programs write them."""

import csv
from pathlib import Path

from towerpace.bring.tables import SourceRow, SourceTable
from towerpace.faults import Fault, InputError

LIKELY_SEPARATORS = {";": "semicolons", "\t": "tabs", "|": "bars"}
SAID_AS = {"\t": "tab"}


def separated_table(path: Path, *, separator: str, encoding: str, heading_row: int = 1) -> SourceTable:
    """Read a text table.

    Parameters
    ----------
    separator
        What stands between cells, one character.
    encoding
        How letters are written, as "utf-8" or "cp1252".
    heading_row
        Row of the headings, from 1.

    Raises
    ------
    InputError
        If the file is no such table, or with every row that has more cells than headings.
    """
    file = str(path)
    numbered = _rows(path, separator=separator, encoding=encoding)
    headings = [cell.strip() for cell in dict(numbered).get(heading_row, [])]
    if fault := _heading_fault(headings, file=file, row=heading_row, separator=separator):
        raise InputError([fault])
    faults, rows = [], []
    for number, cells in numbered:
        if number <= heading_row:
            continue
        if len(cells) > len(headings) and any(cell.strip() for cell in cells[len(headings) :]):
            allowed = f"{len(headings)} cells, as in the headings"
            faults.append(Fault(file, number, "row", f"{len(cells)} cells", allowed))
        padded = [*cells, *[""] * len(headings)]
        named = {name: cell.strip() for name, cell in zip(headings, padded, strict=False) if name}
        rows.append(SourceRow(number, named))
    if faults:
        raise InputError(faults)
    kept = tuple(name for name in headings if name)
    return SourceTable(file, kept, tuple(rows), lambda row, heading: (row, heading))


def _rows(path: Path, *, separator: str, encoding: str) -> list[tuple[int, list[str]]]:
    file = str(path)
    try:
        with path.open(encoding="utf-8-sig" if encoding == "utf-8" else encoding, newline="") as lines:
            reader = csv.reader(lines, delimiter=separator, strict=True)
            return [(reader.line_num, cells) for cells in reader]
    except UnicodeDecodeError as error:
        line = path.read_bytes()[: error.start].count(b"\n") + 1
        allowed = f"{encoding} letters, or --encoding (cp1252 is usual in the west of Europe)"
        raise InputError([Fault(file, line, "letters", "bytes that are none", allowed)]) from error
    except LookupError as error:
        allowed = "a name that Python knows, as utf-8 or cp1252"
        raise InputError([Fault("--encoding", None, "encoding", encoding, allowed)]) from error
    except csv.Error as error:
        raise InputError(
            [Fault(file, None, "row", str(error), "cells with a separator between them")]
        ) from error


def _heading_fault(headings: list[str], *, file: str, row: int, separator: str) -> Fault | None:
    """What is wrong with the headings; with them wrong, every row would only echo it."""
    if not any(headings):
        return Fault(file, row, "headings", "missing headings", "a row of headings, or --heading-row")
    for other, words in LIKELY_SEPARATORS.items():
        if other != separator and len(headings) == 1 and other in headings[0]:
            return Fault(file, row, "headings", words, f'--separator "{SAID_AS.get(other, other)}"')
    twice = sorted({name for name in headings if name and headings.count(name) > 1})
    return Fault(file, row, twice[0], "the heading twice", "each heading once") if twice else None
