"""A forecast of the hours to come, of one member or of an ensemble."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from towerpace.faults import Fault
from towerpace.record.log import Remark
from towerpace.record.moments import MOMENT_ALLOWED, moment_of, shown_minute
from towerpace.record.site_weather import measured_at_station
from towerpace.record.wind import WindReader
from towerpace.scenario.schema import Weather
from towerpace.scenario.tables import CsvTable, cell_shown, read_table
from towerpace.units import HOUR_MIN, Flags, Floats, Ints

ISSUED, MEMBER = "issued", "member"


@dataclass(frozen=True)
class Foretold:
    """Hours that were forecast, as the station of the record would see them.

    members : each by quantity, (n_hours,) from the scenario's first midnight, NaN before the data date and
        where nothing is said. issued_h : hour in which they were made. last_h : hour behind the last one.
    remarks : what is doubtful about them.
    """

    members: tuple[dict[str, Floats], ...]
    issued_h: int
    last_h: int
    remarks: tuple[Remark, ...] = ()


@dataclass
class ForetoldReader(WindReader):
    """Reads a forecast: the columns of measured hours, `issued`, and `member` where there are several.

    until : first minute that may be forecast at all, which is the end of the clock. [min]
    known_until : first minute after the data date. [min]
    """

    known_until: int = 0

    @classmethod
    def like(cls, reader: WindReader, *, known_until: int) -> ForetoldReader:
        """A reader of forecasts for the site of another reader, and as far."""
        zone, ahead_h, usual = reader.zone, reader.utc_offset_h, reader.usual_m_s
        return cls(reader.start, reader.until, zone, ahead_h, usual, known_until=known_until)

    def foretold(self, path: Path, weather: Weather, *, shown_as: str | None = None) -> Foretold | None:
        """The forecast of a file; None where there are faults."""
        table = read_table(path, shown_as=shown_as or str(path))
        rows = self.rows_of(table)
        issued = self._issued(table) if not table.faults and table.rows else None
        if rows is None or issued is None:
            return None
        hours, columns = rows
        last_h, first_h = int(hours.max()) + 1, self.known_until // HOUR_MIN
        if last_h <= first_h:
            allowed = f"hours after the data date, from {self._at(first_h)}"
            self.faults.append(Fault(table.file, None, "time", f"hours up to {self._at(last_h)}", allowed))
            return None
        members, remarks = [], dict[str, Remark]()
        for own in _members(table):
            laid = self.laid(hours[own], {key: values[own] for key, values in columns.items()})
            remarks |= {remark.file: remark for remark in self.unit_doubt(laid, table.file)}
            values = measured_at_station(laid, weather)
            members.append({key: _between(array, first_h, last_h) for key, array in values.items()})
        return Foretold(tuple(members), issued // HOUR_MIN, last_h, tuple(remarks.values()))

    def _again(self, hours: Ints, moments: np.ndarray, table: CsvTable) -> Flags:
        """Rows whose hour stood before in the same member."""
        again = np.zeros(len(hours), dtype=np.bool_)
        for own in _members(table):
            again[own] = super()._again(hours[own], moments[own], table)
        return again

    def _issued(self, table: CsvTable) -> int | None:
        """The minute at which it was made: one for all rows."""
        if ISSUED not in table.columns:
            allowed = f"the moment at which the forecast was made, {MOMENT_ALLOWED}"
            self.faults.append(Fault(table.file, 1, ISSUED, "missing column", allowed))
            return None
        first = table.rows[0]
        moment = moment_of(first.cells[ISSUED], start=self.start)
        other = next((row for row in table.rows if row.cells[ISSUED] != first.cells[ISSUED]), None)
        if moment is None:
            found, allowed = cell_shown(first.cells[ISSUED]), MOMENT_ALLOWED
        elif other is not None:
            first, found = other, cell_shown(other.cells[ISSUED])
            allowed = f"one forecast a file: line 2 was made at {table.rows[0].cells[ISSUED]}"
        elif moment.minute > self.known_until:
            found = first.cells[ISSUED]
            allowed = f"a forecast made by the data date, {shown_minute(self.known_until, start=self.start)}"
        elif moment.minute < 0:
            found, allowed = first.cells[ISSUED], f"a moment after the start of the scenario, {self.start}"
        else:
            return moment.minute
        self.faults.append(Fault(table.file, first.line, ISSUED, found, allowed))
        return None


def _members(table: CsvTable) -> list[Ints]:
    """Rows of each member, in the order in which they come first; all rows where there is no column."""
    if MEMBER not in table.columns:
        return [np.arange(len(table.rows))]
    rows: dict[str, list[int]] = {}
    for number, row in enumerate(table.rows):
        rows.setdefault(row.cells[MEMBER], []).append(number)
    return [np.array(own) for own in rows.values()]


def _between(values: Floats, first_h: int, last_h: int) -> Floats:
    """The hours from one to another, NaN before them."""
    return np.append(np.full(first_h, np.nan), values[first_h:last_h])
