"""What befell a site: a level that came late, a hoist that was out, work that was held; and for how long."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from towerpace.faults import Fault
from towerpace.record.effects import Effect, EffectReader, Effects
from towerpace.record.moments import DATE_ALLOWED
from towerpace.record.places import column_faults
from towerpace.scenario.dates import before_start
from towerpace.scenario.tables import CsvTable, Row, cell_shown, day_in, read_table
from towerpace.units import DAY_MIN

COLUMNS = ("id", "what", "level", "zone", "from", "to", "effect", "owner", "note")
_NEEDED, _OPTIONAL = COLUMNS[:7], COLUMNS[7:]


@dataclass(frozen=True, slots=True)
class Event:
    """One row: what befell, from when to when, and what of the scenario it struck.

    name : the cell `id`. what : in words. since : first day; of what came late the day it was due.
    until : last day; of what came late the day it came; None while it goes on.
    effect : what it struck. owner : who answers for it, in words.
    """

    line: int
    name: str
    what: str
    since: dt.date
    until: dt.date | None
    effect: Effect
    owner: str
    note: str

    def as_of(self, day: dt.date) -> Event:
        """The event as it was known at the end of a day: one that was over later goes on."""
        return self if self.until is None or self.until <= day else replace(self, until=None)

    def from_min(self, start: dt.date) -> int:
        """The midnight on which it begins. start : first day of the scenario. [min]"""
        return (self.since - start).days * DAY_MIN

    def to_min(self, start: dt.date, *, seen_until: int) -> int:
        """The midnight on which it is over, no later than the site was seen. [min]

        What came late is there from the midnight that begins the day on which it came; all else lasts to the
        end of its last day.
        """
        if self.until is None:
            return seen_until
        last = 0 if self.effect.comes_late else 1
        return min(((self.until - start).days + last) * DAY_MIN, seen_until)


@dataclass(frozen=True)
class EventReader:
    """Reads the events of a site.

    effects : what may be struck. start : first day of the scenario. at : last day of the record, after which
    nothing can have befallen; None if the record is read as of an earlier day.
    """

    effects: Effects
    start: dt.date
    at: dt.date | None

    def read(self, path: Path, *, shown_as: str | None = None) -> tuple[tuple[Event, ...], list[Fault]]:
        """The events of a file in the order of their begin, and everything that is wrong with it.

        path : a CSV file with the columns id, what, level, zone, from, to, effect and, if wanted, owner and
        note.
        """
        table = read_table(path, shown_as=shown_as or str(path))
        faults = list(table.faults) or column_faults(table, needed=_NEEDED, optional=_OPTIONAL)
        if faults:
            return (), faults
        if not table.rows:
            return (), [Fault(table.file, 1, "rows", "missing", "a row an event")]
        reader = EffectReader(self.effects, table.file, faults)
        read = [self._event(row, reader) for row in table.rows]
        faults += _named_twice(table)
        events = [event for event in read if event is not None]
        return (() if faults else tuple(sorted(events, key=lambda event: event.since))), faults

    def _event(self, row: Row, reader: EffectReader) -> Event | None:
        cells, before = row.cells, len(reader.faults)
        effect = reader.read(row)
        since = self._day(row, "from", reader)
        until = self._day(row, "to", reader) if cells["to"] else None
        self._check_order(row, since, until, effect, reader)
        if since is None or effect is None or len(reader.faults) > before:
            return None
        more = (cells.get("owner", ""), cells.get("note", ""))
        return Event(row.line, cells["id"], cells["what"] or effect.said, since, until, effect, *more)

    def _day(self, row: Row, column: str, reader: EffectReader) -> dt.date | None:
        """A day from the start to the data date, or None with a fault."""
        cell = row.cells[column]
        day = day_in(cell)
        if day is None:
            reader.refuse(row, column, cell_shown(cell), DATE_ALLOWED)
        elif day < self.start:
            reader.refuse(row, column, str(day), before_start(self.start))
        elif self.at is not None and day > self.at:
            open_end = ", or an empty cell while it goes on" if column == "to" else ""
            reader.refuse(row, column, str(day), f"a day up to the data date, {self.at}{open_end}")
        else:
            return day
        return None

    def _check_order(
        self,
        row: Row,
        since: dt.date | None,
        until: dt.date | None,
        effect: Effect | None,
        reader: EffectReader,
    ) -> None:
        if since is None or until is None:
            return
        if until < since:
            reader.refuse(row, "to", str(until), f"a day on or after from, which is {since}")
        elif until == since and effect is not None and effect.comes_late:
            allowed = f"a day after the one on which it was due, {since}: the event changes nothing"
            reader.refuse(row, "to", str(until), allowed)


def _named_twice(table: CsvTable) -> Iterator[Fault]:
    """Names that lack, or that another event bears."""
    first: dict[str, int] = {}
    for row in table.rows:
        name = row.cells["id"]
        if not name:
            yield Fault(table.file, row.line, "id", "a blank", "a name or number of the event")
        elif first.setdefault(name, row.line) != row.line:
            yield Fault(table.file, row.line, "id", name, f"each id once: line {first[name]} bears it too")
