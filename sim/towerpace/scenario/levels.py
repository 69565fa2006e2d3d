"""The level table: one row per level and zone, with heights, dates and unit counts."""

import datetime as dt
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeVar

import numpy as np

from towerpace.faults import Fault, in_line_order, nearest_word
from towerpace.scenario.tables import CsvTable, Row, cell_shown, day_in, finite_number
from towerpace.units import Floats, Ints

REQUIRED = ("level", "zone", "height_m", "difficulty", "handover")
DELIVERY = "delivery"
METHOD = "method"
# What each column is, for people; a user's own columns count the units of trades and families.
COLUMN_MEANINGS = {
    "level": "Number of the level: whole, without gaps, the lowest first counted up; -1 is a basement.",
    "zone": "Side or bay of the level, under a name of yours; every level has every zone.",
    "height_m": "Height of the level above ground, in metres; the same in all its rows, rising from level to "
    "level.",
    "difficulty": "Factor on the minutes of this front: 1 flat and plain, above 1 harder.",
    "handover": "Planned day on which the structure hands the level over, as 2027-03-15; the same in all its "
    "rows.",
    DELIVERY: "Planned day of the crates of this front; needed where panels are, unless called off.",
    METHOD: "How panels of this front are lifted in: a table [method.NAME], or crane; empty as the trade "
    "says.",
}
_COUNT_COLUMN = re.compile(r"[a-z][a-z0-9_]*")
_LEVEL = re.compile(r"-?\d{1,3}")
MOST_UNITS = 999_999_999
_COUNT = re.compile(r"\d{1,9}")

Cell = TypeVar("Cell")
_Grid = Mapping[tuple[int, str], "_Front"]


@dataclass(frozen=True, slots=True, eq=False)
class Levels:
    """The level table as arrays, levels from the lowest up, zones in the order of work.

    Parameters
    ----------
    levels : tuple of int
        Consecutive numbers.
    zones : tuple of str
        In the order of first appearance.
    height_m : ndarray
        Height of each level above ground, shape (n_levels,). [m]
    difficulty : ndarray
        Factor on unit minutes, shape (n_levels, n_zones). [-]
    counts : dict
        Units by column, each of shape (n_levels, n_zones).
    handover : tuple of date
        Planned handover of each level.
    delivery : tuple of tuple of date or None
        Planned delivery by level and zone; None where the table gives none.
    method : tuple of tuple of str or None
        How panels are lifted in, by level and zone; None where the trade says.
    """

    levels: tuple[int, ...]
    zones: tuple[str, ...]
    height_m: Floats
    difficulty: Floats
    counts: dict[str, Ints]
    handover: tuple[dt.date, ...]
    delivery: tuple[tuple[dt.date | None, ...], ...]
    method: tuple[tuple[str | None, ...], ...]

    def index(self, level: int) -> int:
        """Place of a level in the arrays.

        Raises
        ------
        ValueError
            If the table has no such level.
        """
        return self.levels.index(level)

    def rows(self) -> list[list[object]]:
        """Every number of the table by level and zone, plain: the content that the scenario hash covers."""
        return [
            [level, zone, float(self.height_m[i]), float(self.difficulty[i, j]), self.handover[i].isoformat()]
            + [str(self.delivery[i][j] or "")]
            + [[name, int(count[i, j])] for name, count in sorted(self.counts.items())]
            + [[METHOD, method] for method in (self.method[i][j],) if method is not None]
            for i, level in enumerate(self.levels)
            for j, zone in enumerate(self.zones)
        ]


@dataclass(frozen=True, slots=True)
class _Front:
    """One good row."""

    line: int
    level: int
    zone: str
    height_m: float
    difficulty: float
    handover: dt.date
    delivery: dt.date | None
    method: str | None
    counts: dict[str, int]


def levels_from(table: CsvTable) -> tuple[Levels | None, list[Fault]]:
    """Check a level table and turn it into arrays.

    Returns
    -------
    Levels or None
        None when there is any fault.
    list of Fault
        All faults of the table, in line order.
    """
    faults = list(table.faults) or _column_faults(table)
    if faults:
        return None, faults
    fronts = [front for row in table.rows if (front := _front(row, table=table, faults=faults))]
    grid = _grid(fronts, table=table, faults=faults)
    # A row that could not be read would show up as a hole as well.
    if not faults:
        faults += _holes(grid, table=table)
        faults += _level_faults(grid, file=table.file)
    return (None if faults else _levels(grid)), in_line_order(faults)


def count_columns(table: CsvTable) -> tuple[str, ...]:
    """Columns that hold unit counts."""
    return tuple(column for column in table.columns if column not in (*REQUIRED, DELIVERY, METHOD))


def level_order(table: CsvTable) -> list[str]:
    """Levels as the cells of a table name them, from the lowest up."""
    names = list(dict.fromkeys(row.cells["level"] for row in table.rows))
    if all(_LEVEL.fullmatch(name) for name in names):
        names.sort(key=int)
    return names


def _column_faults(table: CsvTable) -> list[Fault]:
    faults = []
    for column in REQUIRED:
        if column not in table.columns:
            nearest = nearest_word(column, table.columns)
            faults.append(Fault(table.file, 1, column, "missing column", ", ".join(REQUIRED), nearest))
    for column in count_columns(table):
        if not _COUNT_COLUMN.fullmatch(column):
            allowed = "lower-case names of letters, digits and _"
            faults.append(Fault(table.file, 1, "header", cell_shown(column), allowed))
    if not table.rows and not faults:
        faults.append(Fault(table.file, None, "rows", "missing", "one row per level and zone"))
    return faults


def _front(row: Row, *, table: CsvTable, faults: list[Fault]) -> _Front | None:
    before = len(faults)

    def read(column: str, parse: Callable[[str], Cell | None], allowed: str) -> Cell | None:
        value = parse(row.cells[column])
        if value is None:
            faults.append(Fault(table.file, row.line, column, cell_shown(row.cells[column]), allowed))
        return value

    level = read("level", _level, "a whole number from -999 to 999")
    zone = read("zone", lambda cell: cell or None, "text")
    height_m = read("height_m", finite_number, "a number, in metres")
    difficulty = read("difficulty", _above_0, "a number above 0")
    handover = read("handover", day_in, "a date as 2027-03-01")
    units = f"a whole number, at least 0 and at most {MOST_UNITS}"
    counts = {column: read(column, _count, units) for column in count_columns(table)}
    delivery = None
    if row.cells.get(DELIVERY):
        delivery = read(DELIVERY, day_in, "a date as 2027-03-01, or nothing where no panels are")
    if level is None or zone is None or height_m is None or difficulty is None or handover is None:
        return None
    if len(faults) > before:
        return None
    good = {column: count for column, count in counts.items() if count is not None}
    method = row.cells.get(METHOD) or None
    return _Front(row.line, level, zone, height_m, difficulty, handover, delivery, method, good)


def _level(cell: str) -> int | None:
    return int(cell) if _LEVEL.fullmatch(cell) else None


def _count(cell: str) -> int | None:
    return int(cell) if _COUNT.fullmatch(cell) else None


def _above_0(cell: str) -> float | None:
    number = finite_number(cell)
    return number if number is not None and number > 0 else None


def _grid(fronts: Sequence[_Front], *, table: CsvTable, faults: list[Fault]) -> dict[tuple[int, str], _Front]:
    grid: dict[tuple[int, str], _Front] = {}
    for front in fronts:
        first = grid.setdefault((front.level, front.zone), front)
        if first is not front:
            found = f'level {front.level}, zone "{front.zone}" again'
            allowed = f"each level and zone once (first on line {first.line})"
            faults.append(Fault(table.file, front.line, "level, zone", found, allowed))
    return grid


def _holes(grid: _Grid, *, table: CsvTable) -> list[Fault]:
    levels = {level for level, _ in grid}
    zones = list(dict.fromkeys(zone for _, zone in grid))
    faults = []
    for level in range(min(levels), max(levels) + 1):
        if level not in levels:
            allowed = f"every level from {min(levels)} to {max(levels)}"
            faults.append(Fault(table.file, None, "level", f"missing level {level}", allowed))
            continue
        for zone in zones:
            if (level, zone) not in grid:
                line = max(front.line for front in grid.values() if front.level == level)
                found = f'missing level {level}, zone "{zone}"'
                faults.append(Fault(table.file, line, "zone", found, "every zone on every level"))
    return faults


def _level_faults(grid: _Grid, *, file: str) -> list[Fault]:
    """Heights and handovers that differ within a level, and heights that do not rise."""
    faults = []
    first: dict[int, _Front] = {}
    for front in grid.values():
        level = first.setdefault(front.level, front)
        if front.height_m != level.height_m:
            allowed = f"{level.height_m:g}, as on line {level.line} for the same level"
            faults.append(Fault(file, front.line, "height_m", f"{front.height_m:g}", allowed))
        if front.handover != level.handover:
            allowed = f"{level.handover}, as on line {level.line} for the same level"
            faults.append(Fault(file, front.line, "handover", str(front.handover), allowed))
    for number, front in first.items():
        below = first.get(number - 1)
        if below is not None and front.height_m <= below.height_m:
            allowed = f"above {below.height_m:g}, the height of level {number - 1}"
            faults.append(Fault(file, front.line, "height_m", f"{front.height_m:g}", allowed))
    return faults


def _levels(grid: _Grid) -> Levels:
    levels = tuple(sorted({level for level, _ in grid}))
    zones = tuple(dict.fromkeys(front.zone for front in sorted(grid.values(), key=lambda front: front.line)))
    rows = [[grid[level, zone] for zone in zones] for level in levels]
    height_m = np.array([row[0].height_m for row in rows])
    difficulty = np.array([[front.difficulty for front in row] for row in rows])
    counts = {
        column: np.array([[front.counts[column] for front in row] for row in rows], dtype=np.int64)
        for column in rows[0][0].counts
    }
    for array in (height_m, difficulty, *counts.values()):
        array.setflags(write=False)
    handover = tuple(row[0].handover for row in rows)
    delivery = tuple(tuple(front.delivery for front in row) for row in rows)
    method = tuple(tuple(front.method for front in row) for row in rows)
    return Levels(levels, zones, height_m, difficulty, counts, handover, delivery, method)
