"""A planner's own dates as the baseline, from a table: what, level, zone, done."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from pathlib import Path

from towerpace.answers.baseline.items import Item
from towerpace.faults import Fault, InputError, nearest_word
from towerpace.scenario.complaints import listed
from towerpace.scenario.tables import UNNAMED, CsvTable, Row, cell_shown, day_in, read_table

COLUMNS = ("what", "level", "zone", "done")


class OwnDates:
    """Dates of a file, read at once and matched with the items of a tower later.

    Raises `InputError` for a file that cannot be read, lacks a column or has dates that are none.
    """

    def __init__(self, file: Path) -> None:
        if not file.is_file():
            raise InputError([Fault(str(file), None, "file", "missing file", "a CSV file of dates")])
        self._table = read_table(file, shown_as=str(file))
        if faults := [*self._table.faults, *_columns(self._table)]:
            raise InputError(faults)

    def __call__(self, items: list[Item]) -> Mapping[int, date]:
        """The date of every item that has one, by its number.

        Raises `InputError` with every row that names nothing of the tower, or gives one thing two dates.
        """
        places = {(item.what, _level(item), item.zone): k for k, item in enumerate(items)}
        faults: list[Fault] = []
        dates: dict[int, date] = {}
        lines: dict[int, int] = {}
        for row in self._table.rows:
            place = places.get(_key(row))
            day = day_in(row.cells["done"])
            if place is None:
                faults.append(_unknown(self._table, row, items))
            elif day is None:
                found = cell_shown(row.cells["done"])
                faults.append(Fault(self._table.file, row.line, "done", found, "a date as 2027-04-12"))
            elif place in dates:
                found = f"{items[place].name}, which line {lines[place]} has already"
                faults.append(Fault(self._table.file, row.line, "what", found, "one date for each"))
            else:
                dates[place], lines[place] = day, row.line
        if not (dates or faults):
            faults.append(Fault(self._table.file, None, "rows", "none", "at least one date"))
        if faults:
            raise InputError(faults)
        return dates


def _columns(table: CsvTable) -> Iterator[Fault]:
    for column in COLUMNS:
        if column not in table.columns:
            nearest = nearest_word(column, table.columns)
            yield Fault(table.file, 1, column, "no such column", listed(COLUMNS), nearest)
    for column in table.columns:
        if column not in COLUMNS:
            nearest = nearest_word(column, COLUMNS)
            yield Fault(table.file, 1, column or UNNAMED, "an unknown column", listed(COLUMNS), nearest)


def _level(item: Item) -> str:
    return "" if item.level is None else str(item.level)


def _key(row: Row) -> tuple[str, str, str]:
    return row.cells["what"], row.cells["level"], row.cells["zone"]


def _unknown(table: CsvTable, row: Row, items: list[Item]) -> Fault:
    """The first cell of a row that fits nothing, with the nearest word."""
    what, level, zone = _key(row)
    own = [item for item in items if item.what == what]
    if not own:
        names = list(dict.fromkeys(item.what for item in items))
        return Fault(table.file, row.line, "what", cell_shown(what), listed(names), nearest_word(what, names))
    levels = list(dict.fromkeys(_level(item) for item in own))
    if level not in levels:
        return Fault(table.file, row.line, "level", cell_shown(level), _allowed(levels))
    zones = list(dict.fromkeys(item.zone for item in own))
    return Fault(table.file, row.line, "zone", cell_shown(zone), _allowed(zones), nearest_word(zone, zones))


def _allowed(words: list[str]) -> str:
    return listed([word or "an empty cell" for word in words])
