"""Sheets of a workbook (XLSX, ISO/IEC 29500): values as stored, each cell with its address.

A formula's value is the one that was stored when the workbook was last saved. What a stored value cannot say
is refused: formulas that were never calculated, errors, and merged cells, which are empty but for the first.
"""

import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from towerpace.bring.extras import library
from towerpace.bring.tables import SourceRow, SourceTable
from towerpace.faults import Fault, InputError, nearest_word

ZIP, OLE = b"PK", b"\xd0\xcf\x11\xe0"


def is_workbook(path: Path) -> bool:
    """Whether a file is a workbook, old or new, whatever its name ends in."""
    with path.open("rb") as file:
        return file.read(4).startswith((ZIP, OLE))


def workbook_table(path: Path, *, sheet: str | None, heading_row: int = 1) -> SourceTable:
    """Read one sheet.

    Parameters
    ----------
    sheet
        Its name; None where there is only one.
    heading_row
        Row of the headings, from 1.

    Raises
    ------
    InputError
        If it is no such workbook, the sheet is not said or unknown, or with every cell that holds no plain
        value.
    """
    file = str(path)
    values, formulas = (_sheet(path, sheet=sheet, values=kind) for kind in (True, False))
    columns = _columns(values, file=file, row=heading_row)
    faults = [*_merged(formulas, file=file, columns=columns, first_row=heading_row)]
    rows = []
    for number in range(heading_row + 1, values.max_row + 1):
        cells = {}
        for heading, column in columns.items():
            cell, formula = values.cell(number, column), formulas.cell(number, column)
            faults += _cell_faults(cell, formula=formula, heading=heading, sheet=values.title, file=file)
            cells[heading] = cell.value.strip() if isinstance(cell.value, str) else cell.value
        rows.append(SourceRow(number, cells))
    if faults:
        raise InputError(faults)

    def place(row: int, heading: str) -> tuple[None, str]:
        return None, _address(values.title, values.cell(row, columns[heading]).coordinate, heading)

    unnamed = _unnamed(values, columns=columns, heading_row=heading_row)
    return SourceTable(file, tuple(columns), tuple(rows), place, unnamed, _hidden(values, rows=rows))


def _sheet(path: Path, *, sheet: str | None, values: bool) -> Any:
    file = str(path)
    with path.open("rb") as content:
        if content.read(4) == OLE:
            found = "a workbook of an old kind, or one under a password"
            raise InputError([Fault(file, None, "file", found, "an .xlsx saved without a password")])
    openpyxl = library("openpyxl", asked_by=file)
    try:
        book = openpyxl.load_workbook(path, data_only=values)
    except (zipfile.BadZipFile, KeyError, ValueError, OSError) as error:
        raise InputError([Fault(file, None, "file", "no workbook", "an .xlsx file")]) from error
    names = [one.title for one in book.worksheets]
    if sheet is None and len(names) > 1:
        raise InputError([Fault(file, None, "--sheet", f"missing, of {len(names)} sheets", ", ".join(names))])
    if sheet is not None and sheet not in names:
        fault = Fault(file, None, "--sheet", f'"{sheet}"', ", ".join(names), nearest_word(sheet, names))
        raise InputError([fault])
    return book[sheet or names[0]]


def _columns(sheet: Any, *, file: str, row: int) -> dict[str, int]:
    """Column of each heading, from 1."""
    columns: dict[str, int] = {}
    for column in range(1, sheet.max_column + 1):
        heading = str(sheet.cell(row, column).value or "").strip()
        if heading in columns:
            address = _address(sheet.title, sheet.cell(row, column).coordinate, heading)
            raise InputError([Fault(file, None, address, "the heading twice", "each heading once")])
        if heading:
            columns[heading] = column
    if not columns:
        found, allowed = f"missing in row {row}", "a row of headings, or --heading-row"
        raise InputError([Fault(file, None, f"{sheet.title}, headings", found, allowed)])
    return columns


def _merged(sheet: Any, *, file: str, columns: dict[str, int], first_row: int) -> Iterator[Fault]:
    for block in sorted(sheet.merged_cells.ranges, key=lambda one: (one.min_row, one.min_col)):
        in_table = any(block.min_col <= column <= block.max_col for column in columns.values())
        if block.max_row >= first_row and in_table:
            found = "merged cells, which are empty but for the first"
            yield Fault(file, None, f"{sheet.title}!{block.coord}", found, "a value in each cell")


def _cell_faults(cell: Any, *, formula: Any, heading: str, sheet: str, file: str) -> Iterator[Fault]:
    address = _address(sheet, cell.coordinate, heading)
    if cell.data_type == "e":
        yield Fault(file, None, address, f"the error {cell.value}", "a value")
    elif cell.value is None and formula.data_type == "f":
        allowed = "a workbook that was calculated and saved by a spreadsheet program"
        yield Fault(file, None, address, "a formula without a stored value", allowed)


def _unnamed(sheet: Any, *, columns: dict[str, int], heading_row: int) -> int:
    others = set(range(1, sheet.max_column + 1)) - set(columns.values())
    rows = range(heading_row + 1, sheet.max_row + 1)
    return sum(any(sheet.cell(row, column).value is not None for row in rows) for column in others)


def _hidden(sheet: Any, *, rows: list[SourceRow]) -> tuple[str, ...]:
    hidden = [row.number for row in rows if not row.empty and sheet.row_dimensions[row.number].hidden]
    if not hidden:
        return ()
    return (f"{len(hidden)} hidden rows are read like the others, the first of them row {hidden[0]}",)


def _address(sheet: str, coordinate: str, heading: str) -> str:
    return f"{sheet}!{coordinate} ({heading})"
