"""All tables of saved answers as one workbook (ISO/IEC 29500): numbers as numbers, dates as dates."""

from __future__ import annotations

import io
import os
import re
from collections.abc import Iterator, Sequence
from datetime import date, datetime
from importlib import import_module
from importlib.util import find_spec
from math import isfinite
from pathlib import Path
from typing import Any, TypeAlias

from towerpace.answers.said.kinds import Kind
from towerpace.answers.said.tables import Column, Table, Value
from towerpace.faults import Fault, InputError
from towerpace.render.frames import seen_in_files
from towerpace.render.page.page import check_targets, write_whole
from towerpace.render.saved.answer_file import Saved

# Of xlsxwriter, which carries no types.
Book: TypeAlias = Any
Format: TypeAlias = Any
Sheet: TypeAlias = Any

LONGEST_NAME = 31  # letters that a sheet's name may have
MOST_ROWS = 1_048_576  # rows of a sheet
_NARROWEST, _WIDEST = 8, 60  # letters
_LOOKED_AT = 200  # rows whose words decide how wide a column is
RUN_SHEET = "run"
_LOOKS = {
    Kind.DATE: {"num_format": "d mmm yyyy", "align": "left"},
    Kind.SHARE: {"num_format": "0.0 %"},
    Kind.COUNT: {"num_format": "#,##0"},
    Kind.WORKING_DAY: {"num_format": "#,##0"},
    Kind.MINUTES: {"num_format": "#,##0"},
    Kind.NUMBER: {"num_format": "#,##0.##"},
    Kind.HOURS: {"num_format": "#,##0.##"},
    Kind.DAYS: {"num_format": "#,##0.##"},
    Kind.MONEY: {"num_format": "#,##0"},
    Kind.TEXT: {"text_wrap": True, "valign": "top"},
}


def can_tabulate() -> list[Fault]:
    """What a workbook needs and is not installed."""
    if find_spec("xlsxwriter") is not None:
        return []
    wanted = "pip install 'towerpace[spreadsheet]'"
    return [Fault("--xlsx", None, "xlsx", "asked for without xlsxwriter", wanted)]


def write_workbook(parts: Sequence[Saved], path: str | os.PathLike[str]) -> Path:
    """Write the workbook: what it was made from, then a sheet a table.

    Raises `InputError` without xlsxwriter, if a folder stands where the file should, or for a table with more
    rows than a sheet can hold.
    """
    if faults := [*can_tabulate(), *check_targets([path]), *_too_long(parts)]:
        raise InputError(faults)
    return write_whole(workbook_of(parts), path)


def _too_long(parts: Sequence[Saved]) -> Iterator[Fault]:
    allowed = f"{MOST_ROWS - 1:,} for a sheet"
    for part in parts:
        for table in seen_in_files(part.answer):
            if len(table.rows) >= MOST_ROWS:
                place = str(part.folder / f"{table.name}.csv")
                yield Fault(place, None, "table", f"{len(table.rows):,} rows", allowed)


def workbook_of(parts: Sequence[Saved]) -> bytes:
    """The workbook; the same bytes for the same answers."""
    writer: Any = import_module("xlsxwriter")
    file = io.BytesIO()
    options = {
        "in_memory": True,
        "default_date_format": "d mmm yyyy",
        "strings_to_formulas": False,
        "strings_to_urls": False,
        "strings_to_numbers": False,
    }
    with writer.Workbook(file, options) as book:
        run, created = parts[0].answer.run, datetime.fromisoformat(parts[0].manifest.created_utc)
        book.set_properties({"title": run.scenario, "author": f"towerpace {run.version}", "created": created})
        head = book.add_format({"bold": True, "bottom": 1, "text_wrap": True, "valign": "bottom"})
        looks = {kind: book.add_format(look) for kind, look in _LOOKS.items()}
        _run(book.add_worksheet(RUN_SHEET), parts, head=head, words=looks[Kind.TEXT])
        for name, table in named_tables(parts):
            _table(book.add_worksheet(name), table, head=head, looks=looks)
    return file.getvalue()


def named_tables(parts: Sequence[Saved]) -> Iterator[tuple[str, Table]]:
    """Every table with the name of its sheet; those of further answers bear the name of their question."""
    used = {RUN_SHEET}
    for k, part in enumerate(parts):
        for table in seen_in_files(part.answer):
            wanted = table.name if k == 0 else f"{part.answer.question} {table.name}"
            stem = re.sub(r"[\[\]:*?/\\]", "_", wanted)
            name, number = stem[:LONGEST_NAME], 2
            while name.lower() in used:
                name, number = f"{stem[: LONGEST_NAME - 3]} {number}", number + 1
            used.add(name.lower())
            yield name, table


def _run(sheet: Sheet, parts: Sequence[Saved], *, head: Format, words: Format) -> None:
    """What every number in the workbook was made from, once instead of on every row."""
    sheet.set_column(0, 0, 24)
    sheet.set_column(1, 1, 100, words)
    sheet.write_row(0, 0, ("what", "value"), head)
    sheet.freeze_panes(1, 0)
    row = 1
    for part in parts:
        for fact in _facts(part):
            sheet.write_row(row, 0, fact)
            row += 1
        row += 1


def _facts(part: Saved) -> list[tuple[str, str | int]]:
    run = part.answer.run
    return [
        ("results of", part.answer.question),
        ("tower", run.scenario),
        ("scenario file", run.path),
        ("scenario hash", run.hash),
        ("seed", run.seed),
        ("trials", run.trials),
        ("version", run.version),
        ("command", part.manifest.command),
        ("made", part.manifest.created_utc),
        *(("banner", banner) for banner in part.answer.banners),
        *(("caution", caution) for caution in part.answer.cautions),
    ]


def _table(sheet: Sheet, table: Table, *, head: Format, looks: dict[Kind, Format]) -> None:
    """Column names as in the CSV, so that formulas and scripts find them; blanks stay blank."""
    sheet.write_row(0, 0, [column.name for column in table.columns], head)
    sheet.freeze_panes(1, 0)
    if table.rows:
        sheet.autofilter(0, 0, len(table.rows), len(table.columns) - 1)
    for k, column in enumerate(table.columns):
        look = looks.get(column.kind)
        sheet.set_column(k, k, _width(table, column, k))
        for row, values in enumerate(table.rows, start=1):
            _write(sheet, (row, k), values[k], look)


def _width(table: Table, column: Column, k: int) -> int:
    if column.kind is Kind.DATE:
        return 13
    widest = max((len(str(row[k])) for row in table.rows[:_LOOKED_AT] if row[k] is not None), default=0)
    return min(max(widest + 1, len(column.name) + 2, _NARROWEST), _WIDEST)


def _write(sheet: Sheet, place: tuple[int, int], value: Value, look: Format | None) -> None:
    row, column = place
    if value is None:
        return
    if isinstance(value, bool):
        sheet.write_boolean(row, column, value)
    elif isinstance(value, date):
        sheet.write_datetime(row, column, datetime(value.year, value.month, value.day), look)
    elif isinstance(value, int | float):
        if isfinite(value):  # a sheet has no other numbers
            sheet.write_number(row, column, value, look)
    else:
        sheet.write_string(row, column, value, look)
