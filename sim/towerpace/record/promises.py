"""What was promised: how much will be done at a place by the end of a day, and who said so."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from towerpace.faults import Fault
from towerpace.record.amounts import Amount, allowed_of, amount_of
from towerpace.record.moments import DATE_ALLOWED
from towerpace.record.places import PlaceReader, column_faults
from towerpace.record.words import How, Place, Words
from towerpace.scenario.complaints import listed
from towerpace.scenario.dates import before_start
from towerpace.scenario.tables import CsvTable, Row, cell_shown, day_in, read_table

COLUMNS = ("id", "made", "what", "level", "zone", "done", "by", "who", "reason")
_NEEDED, _OPTIONAL = COLUMNS[:7], COLUMNS[7:]
# What only passes, or what nobody decides, cannot be promised.
PROMISED = (How.UNITS, How.WHOLE, How.TRUTH)


@dataclass(frozen=True, slots=True)
class Promise:
    """One row: that a place will have come so far by the end of a day.

    name : the cell `id`. made, by : the day on which it was given, and the day at whose end it is due.
    amount : counted from the beginning, as on the sheet. who : a gang or a firm.
    reason : why it was not kept, if it was not.
    """

    line: int
    name: str
    made: dt.date
    place: Place
    amount: Amount
    by: dt.date
    who: str
    reason: str


def read_promises(
    path: Path, *, words: Words, start: dt.date, shown_as: str | None = None
) -> tuple[tuple[Promise, ...], list[Fault]]:
    """The promises of a file in its order, and everything that is wrong with it.

    Parameters
    ----------
    path : Path
        A CSV file with the columns id, made, what, level, zone, done, by and, if wanted, who and reason.
    words : Words
        What may be reported: what can be promised is of it.
    start : date
        First day of the scenario.
    """
    table = read_table(path, shown_as=shown_as or str(path))
    faults = list(table.faults) or column_faults(table, needed=_NEEDED, optional=_OPTIONAL)
    if faults:
        return (), faults
    if not table.rows:
        return (), [Fault(table.file, 1, "rows", "missing", "a row a promise")]
    places = PlaceReader(words, table.file, faults)
    read = [_promise(row, places=places, start=start) for row in table.rows]
    faults += _named_twice(table)
    return tuple(promise for promise in read if promise is not None), faults


def _promise(row: Row, *, places: PlaceReader, start: dt.date) -> Promise | None:
    cells, before = row.cells, len(places.faults)
    made, by = (_day(row, column, places=places, start=start) for column in ("made", "by"))
    if made is not None and by is not None and by < made:
        places.faults.append(
            Fault(places.file, row.line, "by", str(by), f"a day on or after it was made, {made}")
        )
    read = places.read(row)
    if read is None:
        return None
    word, place = read
    if word.how not in PROMISED:
        can = [name for name, other in places.words.words.items() if other.how in PROMISED]
        places.faults.append(Fault(places.file, row.line, "what", word.name, f"work: {listed(can)}"))
        return None
    total = places.words.totals[place]
    amount = amount_of(cells["done"], word=word, total=total)
    if amount is None or not (amount.units or amount.whole):
        allowed = f"more than none of {allowed_of(word, total=total)}"
        places.faults.append(Fault(places.file, row.line, "done", cell_shown(cells["done"]), allowed))
    if made is None or by is None or amount is None or len(places.faults) > before:
        return None
    more = (cells.get("who", ""), cells.get("reason", ""))
    return Promise(row.line, cells["id"], made, place, amount, by, *more)


def _day(row: Row, column: str, *, places: PlaceReader, start: dt.date) -> dt.date | None:
    day = day_in(row.cells[column])
    if day is None:
        fault = Fault(places.file, row.line, column, cell_shown(row.cells[column]), DATE_ALLOWED)
        places.faults.append(fault)
    elif day < start and column == "by":
        places.faults.append(Fault(places.file, row.line, column, str(day), before_start(start)))
    return day


def _named_twice(table: CsvTable) -> Iterable[Fault]:
    """Names that lack, or that another promise bears."""
    first: dict[str, int] = {}
    for row in table.rows:
        name = row.cells["id"]
        if not name:
            yield Fault(table.file, row.line, "id", "a blank", "a name or number of the promise")
        elif first.setdefault(name, row.line) != row.line:
            yield Fault(table.file, row.line, "id", name, f"each id once: line {first[name]} bears it too")
