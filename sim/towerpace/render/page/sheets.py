"""All saved tables as one workbook (ISO/IEC 29500): numbers as numbers, dates as dates, headings stay."""

from __future__ import annotations

import io
import json
import os
import re
from collections.abc import Iterator, Mapping, Sequence
from datetime import date, datetime
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeAlias

from towerpace.faults import Fault, InputError
from towerpace.render.page.model import CHANCE, DATE, NUMBER, heading, is_blank
from towerpace.render.page.page import check_targets, write_whole
from towerpace.render.page.results import FORECAST, Results
from towerpace.render.page.tables import kind_of, lists_in, unstamped

if TYPE_CHECKING:
    from pandas import DataFrame

# Of xlsxwriter, which carries no types.
Book: TypeAlias = Any
Format: TypeAlias = Any
Sheet: TypeAlias = Any

LONGEST_NAME = 31  # letters that a sheet's name may have
MOST_ROWS = 1_048_576  # rows of a sheet
_WIDTHS = (8, 60)  # narrowest and widest column [letters]
_LOOKED_AT = 200  # rows whose words decide how wide a column is
RUN_SHEET = "run"
_ISO = re.compile(r"\d{4}-\d\d-\d\d")


def can_tabulate() -> list[Fault]:
    """What a workbook needs and is not installed."""
    if find_spec("xlsxwriter") is not None:
        return []
    return [
        Fault("--xlsx", None, "xlsx", "asked for without xlsxwriter", "pip install 'towerpace[spreadsheet]'")
    ]


def write_sheets(results: Results, path: str | os.PathLike[str]) -> Path:
    """Write the workbook: what it was made from, then a sheet a table.

    Raises `InputError` without xlsxwriter, if a folder stands where the file should, or for a table with more
    rows than a sheet can hold.
    """
    if faults := [*can_tabulate(), *check_targets([path]), *_too_long(results)]:
        raise InputError(faults)
    return write_whole(sheets_of(results), path)


def _too_long(results: Results) -> list[Fault]:
    return [
        Fault(
            str(part.folder / f"{name}.csv"),
            None,
            "table",
            f"{len(table):,} rows",
            f"{MOST_ROWS - 1:,} for a sheet",
        )
        for part in results.parts
        for name, table in part.tables.items()
        if len(table) >= MOST_ROWS
    ]


def sheets_of(results: Results) -> bytes:
    """The workbook; the same bytes for the same results."""
    writer: Any = import_module("xlsxwriter")
    made = io.BytesIO()
    options = {
        "in_memory": True,
        "default_date_format": "d mmm yyyy",
        "strings_to_formulas": False,
        "strings_to_urls": False,
        "strings_to_numbers": False,
    }
    with writer.Workbook(made, options) as book:
        run = results.parts[0].manifest
        created = datetime.fromisoformat(run.created_utc)
        book.set_properties({"title": run.scenario, "author": f"towerpace {run.version}", "created": created})
        formats = _formats(book)
        _run(book.add_worksheet(RUN_SHEET), results, formats)
        for name, table in named_tables(results):
            _table(book.add_worksheet(name), table, formats)
    return made.getvalue()


def named_tables(results: Results) -> Iterator[tuple[str, DataFrame]]:
    """Every table with the name of its sheet; those of a second folder carry the kind of their run."""
    used = {RUN_SHEET}
    for name, table in _wanted(results):
        wanted = re.sub(r"[\[\]:*?/\\]", "_", name)
        made, number = wanted[:LONGEST_NAME], 2
        while made.lower() in used:
            made, number = f"{wanted[: LONGEST_NAME - 3]} {number}", number + 1
        used.add(made.lower())
        yield made, table


def _wanted(results: Results) -> Iterator[tuple[str, DataFrame]]:
    """Saved tables; then the lists of JSON objects that have no tables of their own in their folder."""
    for k, part in enumerate(results.parts):
        for name, table in part.tables.items():
            yield name if k == 0 else f"{part.kind} {name}", unstamped(table)
        for key, data in part.objects.items():
            if key == part.kind and part.tables:
                continue
            # A bid repeats its forecast, whose tables lie beside it.
            own = {name: value for name, value in data.items() if name != FORECAST}
            for name, rows in lists_in(own, name=key):
                yield name, _frame(rows)


def _frame(rows: Sequence[Mapping[str, Any]]) -> DataFrame:
    """Rows of a JSON object as a table: dates as dates, lists and objects as words."""
    from pandas import DataFrame, to_datetime

    names = list(dict.fromkeys(name for row in rows for name in row))
    made = DataFrame({name: [_plain(row.get(name)) for row in rows] for name in names})
    for name in names:
        texts = [value for value in made[name] if isinstance(value, str)]
        known = [value for value in made[name].tolist() if not is_blank(value)]
        if texts and len(texts) == len(known) and all(_ISO.fullmatch(text) for text in texts):
            made[name] = to_datetime(made[name])
    return made


def _plain(value: Any) -> Any:
    return json.dumps(value, ensure_ascii=False) if isinstance(value, list | dict) else value


def _formats(book: Book) -> dict[str, Format]:
    looks = {
        "head": {"bold": True, "bottom": 1, "text_wrap": True, "valign": "bottom"},
        DATE: {"num_format": "d mmm yyyy", "align": "left"},
        CHANCE: {"num_format": "0.0 %"},
        NUMBER: {"num_format": "#,##0.##"},
        "whole": {"num_format": "#,##0"},
        "words": {"text_wrap": True, "valign": "top"},
    }
    return {name: book.add_format(look) for name, look in looks.items()}


def _run(sheet: Sheet, results: Results, formats: dict[str, Format]) -> None:
    """What every number in the workbook was made from, once instead of on every row."""
    sheet.set_column(0, 0, 24)
    sheet.set_column(1, 1, 100, formats["words"])
    sheet.write_row(0, 0, ("what", "value"), formats["head"])
    sheet.freeze_panes(1, 0)
    row = 1
    for part in results.parts:
        run = part.manifest
        facts: list[tuple[str, str | int]] = [
            ("results of", part.kind),
            ("tower", run.scenario),
            ("scenario file", run.path),
            ("scenario hash", run.hash),
            ("seed", run.seed),
            ("trials", run.trials),
            ("version", run.version),
            ("command", run.command),
            ("made", run.created_utc),
            *(("caution", said) for said in run.cautions),
        ]
        for fact in facts:
            sheet.write_row(row, 0, fact)
            row += 1
        row += 1


def _table(sheet: Sheet, table: DataFrame, formats: dict[str, Format]) -> None:
    """Column names as in the CSV, so that formulas and scripts find them; blanks stay blank."""
    names = [str(name) for name in table.columns]
    kinds = [kind_of(str(name), dtype) for name, dtype in table.dtypes.items()]
    sheet.write_row(0, 0, names, formats["head"])
    sheet.freeze_panes(1, 0)
    if len(table):
        sheet.autofilter(0, 0, len(table), len(names) - 1)
    for column, (name, kind) in enumerate(zip(names, kinds, strict=True)):
        look = formats["whole"] if str(table[name].dtype) == "Int64" else formats.get(kind)
        values = table[name].tolist()
        widest = max((len(str(value)) for value in values[:_LOOKED_AT]), default=0)
        width = 13 if kind == DATE else min(max(widest + 1, len(heading(name)), _WIDTHS[0]), _WIDTHS[1])
        sheet.set_column(column, column, width)
        for row, value in enumerate(values, start=1):
            _write(sheet, (row, column), value, look)


def _write(sheet: Sheet, place: tuple[int, int], value: Any, look: Format | None) -> None:
    row, column = place
    if is_blank(value):
        return
    if isinstance(value, bool):
        sheet.write_boolean(row, column, value)
    elif isinstance(value, date):
        sheet.write_datetime(row, column, datetime(value.year, value.month, value.day), look)
    elif isinstance(value, int | float):
        sheet.write_number(row, column, value, look)
    else:
        sheet.write_string(row, column, str(value))
