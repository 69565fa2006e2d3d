"""Other numbers for single levels and zones, laid over the level table before it is checked.

They are written into the cells of the table, so that every check of the table is made of them too; a fault of
such a cell is told at the key that wrote it.
"""

import datetime as dt
import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from towerpace.faults import Fault, nearest_word
from towerpace.scenario.complaints import Complaint, Path, listed, shown
from towerpace.scenario.dates import day_at
from towerpace.scenario.levels import DELIVERY, METHOD, count_columns, level_order
from towerpace.scenario.raw import Tree, at, named, number_at, table, text_at
from towerpace.scenario.tables import CsvTable, Row
from towerpace.scenario.working_days import next_working_day

_TO = re.compile(r"(.+?) to (.+)")
_FROM = re.compile(r"from (.+)")


@dataclass
class LaidOver:
    """A level table with the keys of single levels written into its cells.

    table : as it is then. complaints : of keys that have no place in it.
    """

    table: CsvTable
    complaints: list[Complaint] = field(default_factory=list)
    _keys: dict[tuple[int | None, str], Path] = field(default_factory=dict)

    def told(self, faults: Sequence[Fault]) -> tuple[list[Fault], list[Complaint]]:
        """Faults of the table itself, and complaints about cells that keys have written."""
        own, of_keys = [], dict[Complaint, None]()
        for fault in faults:
            path = self._keys.get((fault.line, fault.key))
            if path is None:
                own.append(fault)
            else:
                of_keys[Complaint(path, fault.found, fault.allowed, fault.nearest)] = None
        return own, list(of_keys)

    def write(self, row: int, column: str, cell: str, path: Path) -> None:
        """Put a cell into the table."""
        rows = list(self.table.rows)
        rows[row] = Row(rows[row].line, rows[row].cells | {column: cell})
        self.table = replace(self.table, rows=tuple(rows))
        self._keys[rows[row].line, column] = path


def laid_over(level_table: CsvTable, tree: Tree) -> LaidOver:
    """The level table with the tables [level.NAME] of the scenario laid over it."""
    laid = LaidOver(level_table)
    if not table(tree, "level") or level_table.faults or "level" not in level_table.columns:
        return laid
    order = level_order(level_table)
    slips = dict.fromkeys(order, 0)
    slipped: dict[str, Path] = {}
    for selector, entry in named(tree, "level"):
        path: Path = ("level", selector)
        names = selected(selector, order)
        if not names:
            allowed = f'a level as "{order[0]}", levels as "{order[0]} to {order[-1]}" or "from {order[0]}"'
            laid.complaints.append(Complaint(path, shown(selector), allowed, nearest_word(selector, order)))
            continue
        _lay_rows(laid, entry, path=path, rows=_rows(laid, names), tree=tree)
        for zone, own in named(entry, "zone"):
            place = (*path, "zone", zone)
            rows = [k for k in _rows(laid, names) if laid.table.rows[k].cells.get("zone") == zone]
            if not rows:
                zones = list(dict.fromkeys(row.cells.get("zone", "") for row in laid.table.rows))
                found = Complaint(place, shown(zone), listed(zones), nearest_word(zone, zones))
                laid.complaints.append(found)
            _lay_rows(laid, own, path=place, rows=rows, tree=tree)
        days = at(entry, ("slip_days",))
        if isinstance(days, int) and not isinstance(days, bool):
            slips |= {name: slips[name] + days for name in names}
            slipped |= dict.fromkeys(names, (*path, "slip_days"))
    _slip(laid, order, slips=slips, slipped=slipped, tree=tree)
    return laid


def selected(selector: str, order: Sequence[str]) -> list[str]:
    """Levels that a table is for, from the lowest up; none if there is no such level."""
    if selector in order:
        return [selector]
    some, up = _TO.fullmatch(selector), _FROM.fullmatch(selector)
    first = some.group(1) if some else up.group(1) if up else None
    last = some.group(2) if some else order[-1]
    if first not in order or last not in order:
        return []
    return list(order[order.index(first) : order.index(last) + 1])


def _rows(laid: LaidOver, names: Sequence[str]) -> list[int]:
    return [k for k, row in enumerate(laid.table.rows) if row.cells["level"] in names]


def _lay_rows(laid: LaidOver, entry: Tree, *, path: Path, rows: Sequence[int], tree: Tree) -> None:
    """Write the keys of one level or zone into some rows."""
    for column in ("handover", DELIVERY):
        if column in entry:
            _lay_day(laid, entry[column], path=(*path, column), rows=rows, tree=tree)
    difficulty = number_at(entry, "difficulty")
    if difficulty is not None:
        for row in rows:
            laid.write(row, "difficulty", repr(difficulty), (*path, "difficulty"))
    method = text_at(entry, METHOD)
    if method is not None:
        for row in rows:
            laid.write(row, METHOD, method, (*path, METHOD))
    counted = count_columns(laid.table)
    for column, count in table(entry, "counts").items():
        place = (*path, "counts", column)
        if column not in counted:
            allowed = f"a count column of {laid.table.file}: {listed(counted)}"
            laid.complaints.append(Complaint(place, shown(column), allowed, nearest_word(column, counted)))
        elif isinstance(count, int) and not isinstance(count, bool):
            for row in rows:
                laid.write(row, column, str(count), place)


def _lay_day(laid: LaidOver, value: object, *, path: Path, rows: Sequence[int], tree: Tree) -> None:
    column = str(path[-1])
    if column not in laid.table.columns:
        allowed = f"{column} only where {laid.table.file} has a column of that name"
        laid.complaints.append(Complaint(path, shown(value), allowed))
        return
    day = day_at({column: value}, column)
    if day is not None:
        for row in rows:
            laid.write(row, column, day.isoformat(), path)
    elif isinstance(value, int) and not isinstance(value, bool):
        planned = [(row, cell) for row in rows if (cell := _day(laid.table.rows[row], column)) is not None]
        for row, day in planned:
            laid.write(row, column, _shifted(day, value, column, tree).isoformat(), path)
        if rows and not planned:
            allowed = f"a date, because {laid.table.file} has none there"
            laid.complaints.append(Complaint(path, shown(value), allowed))


def _slip(
    laid: LaidOver, order: Sequence[str], *, slips: dict[str, int], slipped: dict[str, Path], tree: Tree
) -> None:
    """Move the handover of each level by the slips of itself and of all below it."""
    late, path = 0, None
    for name in order:
        late, path = late + slips[name], slipped.get(name, path)
        for row in _rows(laid, [name]) if late and path else ():
            day = _day(laid.table.rows[row], "handover")
            if day is not None and path is not None:
                laid.write(row, "handover", _shifted(day, late, "handover", tree).isoformat(), path)


def _shifted(day: dt.date, days: int, column: str, tree: Tree) -> dt.date:
    """So many days later; a handover then on a working day of the structure's calendar, if it has one."""
    try:
        late = day + dt.timedelta(days)
    except OverflowError:
        return day
    return next_working_day(tree, late) if column == "handover" and days else late


def _day(row: Row, column: str) -> dt.date | None:
    try:
        return dt.date.fromisoformat(row.cells.get(column, ""))
    except ValueError:
        return None
