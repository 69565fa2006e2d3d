"""Wind and weather measured on the site: the hours that were, up to the data date.

The columns are those of a weather record, and `height_m` where the instrument climbs with the crane. Unlike
a record a site may have gaps: they are told, and such an hour is drawn like any other.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np

from towerpace.climate.cells import number_faults, numbers
from towerpace.climate.columns import TIME, RecordColumn, find_columns
from towerpace.climate.hours import runs
from towerpace.climate.rows import row_faults
from towerpace.climate.stamps import hours_of
from towerpace.faults import Fault
from towerpace.record.log import Remark
from towerpace.record.moments import shown_minute
from towerpace.scenario.tables import CsvTable, read_table
from towerpace.units import HOUR_MIN, Flags, Floats, Ints

SITE_TIME, HEIGHT = "time", "height_m"
MOST_GAPS_TOLD = 3
# The wind of a site differs from that of its station by no such factor; km/h for m/s are 3.6.
UNLIKELY_RATIO = 2.5


@dataclass(frozen=True, eq=False)
class SiteHours:
    """Measured hours from the scenario's first midnight to the data date, all of shape (n_hours,).

    Attributes
    ----------
    known : ndarray
        Whether mean wind was measured in the hour.
    values : dict
        By quantity ("speed", "gust", "temperature", "rain", "visibility", "thunder"), in the unit of the
        record; NaN where nothing was measured.
    height_m : ndarray
        Height of the instrument above ground. [m]
    """

    known: Flags
    values: Mapping[str, Floats]
    height_m: Floats


@dataclass
class WindReader:
    """Reads measured hours.

    start : first day of the scenario. until : first minute after the data date. [min]
    zone, utc_offset_h : of the site's clock, and of the record's standard time. [h]
    usual_m_s : median of the wind of the record, to which the site's is compared. [m/s]
    """

    start: dt.date
    until: int
    zone: str | None = None
    utc_offset_h: float = 0.0
    usual_m_s: float | None = None
    faults: list[Fault] = field(default_factory=list)

    def read(self, path: Path, *, shown_as: str | None = None) -> tuple[SiteHours | None, list[Remark]]:
        """The hours of a file and what is doubtful about them; None where there are faults."""
        table = read_table(path, shown_as=shown_as or str(path))
        measured = self.hours_of(table)
        if measured is None:
            return None, []
        return measured, [*self._gaps(measured, table.file), *self.unit_doubt(measured, table.file)]

    def hours_of(self, table: CsvTable) -> SiteHours | None:
        """The hours of a table; None where there are faults."""
        rows = self.rows_of(table)
        return None if rows is None else self.laid(*rows)

    def rows_of(self, table: CsvTable) -> tuple[Ints, dict[str, Floats]] | None:
        """Hour of every row from the first midnight, and its columns, the height too; None with faults."""
        before = len(self.faults)
        self.faults += table.faults
        header = [TIME if name == SITE_TIME else name for name in table.columns]
        if table.faults:
            return None
        columns, faults = find_columns(header, file=table.file, needed=None)
        if not table.rows:
            faults.append(Fault(table.file, 1, "rows", "missing", "a row for every hour"))
        self.faults += faults
        if faults:
            return None
        hours = self._hours(table)
        values = self._values(table, columns) | {HEIGHT: self._heights(table, columns["speed"])}
        return None if len(self.faults) > before else (hours, values)

    def _hours(self, table: CsvTable) -> Ints:
        """Hour of the site's clock of every row, from the first midnight, (n_rows,)."""
        column = SITE_TIME if SITE_TIME in table.columns else TIME
        stamps = [row.cells[column] for row in table.rows]
        moments = hours_of(stamps)
        wrong = np.isnat(moments)
        allowed = f"a full hour as {self.start}T00:00"
        self._rows_wrong(table, wrong, column, allowed)
        hours = (moments - np.datetime64(self.start, "h")).astype(np.int64)
        if column == TIME and self.zone is not None:
            hours = hours + self._clock_ahead_h(moments)
        elif column == SITE_TIME:
            self._rows_wrong(table, ~wrong & self._again(hours, moments, table), column, "every hour once")
        return np.where(wrong, -1, hours)

    def _again(self, hours: Ints, moments: np.ndarray, table: CsvTable) -> Flags:  # noqa: ARG002  others read it
        """Rows whose hour stood before, but for the one that a clock set back shows twice."""
        first = np.zeros(len(hours), dtype=np.bool_)
        first[np.unique(hours, return_index=True)[1]] = True
        again: Flags = ~first & ~np.isnat(moments)  # what is no hour at all is told apart
        for row in np.flatnonzero(again).tolist():
            moment = moments[row].astype(dt.datetime).replace(tzinfo=ZoneInfo(self.zone or "UTC"))
            again[row] = moment.utcoffset() == moment.replace(fold=1).utcoffset()
        return again

    def _clock_ahead_h(self, moments: np.ndarray) -> Ints:
        """Hours by which the clock runs ahead of the record's standard time, (n_rows,)."""
        days, day_of = np.unique(moments.astype("datetime64[D]"), return_inverse=True)
        zone, ahead = ZoneInfo(self.zone or "UTC"), np.zeros((len(days), 24), dtype=np.int64)
        for k, day in enumerate(days.tolist()):
            for hour in range(24) if day is not None else ():
                utc = dt.datetime.combine(day, dt.time(hour), dt.UTC) - dt.timedelta(hours=self.utc_offset_h)
                offset = utc.astimezone(zone).utcoffset() or dt.timedelta()
                ahead[k, hour] = round(offset / dt.timedelta(hours=1) - self.utc_offset_h)
        hour_of_day = (moments - moments.astype("datetime64[D]")).astype(np.int64) % 24
        picked: Ints = ahead[day_of, hour_of_day]
        return picked

    def _values(self, table: CsvTable, columns: Mapping[str, RecordColumn]) -> dict[str, Floats]:
        values = {}
        for key, column in columns.items():
            cells = [row.cells[column.name] for row in table.rows]
            values[key] = numbers(cells) * column.factor
            self._number_faults(table, cells, values[key], column)
        below = np.isfinite(values["speed"]) & (values["gust"] < values["speed"])
        self._rows_wrong(
            table, below, columns["gust"].name, "a gust of at least the speed of its hour, or a blank"
        )
        return values

    def _number_faults(
        self, table: CsvTable, cells: Sequence[str], values: Floats, column: RecordColumn
    ) -> None:
        self.faults += number_faults(cells, values=values, column=column, file=table.file, blanks=True)

    def _heights(self, table: CsvTable, speed: RecordColumn) -> Floats:
        """Height of the instrument in every row: its column, else what the name of the speed says. [m]"""
        if HEIGHT not in table.columns:
            return np.full(len(table.rows), speed.height_m or 0.0)
        height_m = numbers([row.cells[HEIGHT] for row in table.rows])
        wrong = ~(np.isfinite(height_m) & (height_m > 0))
        self._rows_wrong(table, wrong, HEIGHT, "a number above 0 m")
        return height_m

    def _rows_wrong(self, table: CsvTable, wrong: Flags, key: str, allowed: str) -> None:
        rows, column = table.rows, key if key in table.columns else SITE_TIME
        self.faults += row_faults(
            np.flatnonzero(wrong),
            file=table.file,
            key=key,
            found=lambda i: rows[i].cells[column] or "a blank",
            allowed=allowed,
        )

    def laid(self, hours: Ints, columns: Mapping[str, Floats]) -> SiteHours:
        """Columns over the hours of the project; of two rows for one hour the windier counts."""
        n = -(-self.until // HOUR_MIN)
        inside = np.flatnonzero((hours >= 0) & (hours < n))
        windier = inside[np.argsort(columns["speed"][inside], kind="stable")]
        laid = {}
        for key, values in columns.items():
            laid[key] = np.full(n, np.nan)
            laid[key][hours[windier]] = values[windier]
        height_m = laid.pop(HEIGHT)
        return SiteHours(~np.isnan(laid["speed"]), laid, height_m)

    def _gaps(self, measured: SiteHours, file: str) -> list[Remark]:
        gaps = runs(~measured.known)
        if not len(gaps):
            return []
        said = [f"{self._at(a)} to {self._at(b)}" for a, b in gaps[:MOST_GAPS_TOLD].tolist()]
        more = f" and {len(gaps) - MOST_GAPS_TOLD} more gaps" if len(gaps) > MOST_GAPS_TOLD else ""
        missing = int((~measured.known).sum())
        text = f"no wind for {missing:,} of {len(measured.known):,} hours: {', '.join(said)}{more}"
        text += "; these hours are drawn, and what the log says of them teaches no trade that weather stops"
        return [Remark(file, (), text)]

    def _at(self, hour: int) -> str:
        return shown_minute(hour * HOUR_MIN, start=self.start)

    def unit_doubt(self, measured: SiteHours, file: str) -> list[Remark]:
        """A remark on speeds that look as if they were in another unit than the column says."""
        speeds = measured.values["speed"][measured.known]
        if self.usual_m_s is None or not len(speeds):
            return []
        ratio = float(np.median(speeds)) / max(self.usual_m_s, 0.1)
        if ratio < UNLIKELY_RATIO:
            return []
        text = (
            f"half of the speeds are above {np.median(speeds):.1f} m/s, {ratio:.1f} times the record's "
            f"{self.usual_m_s:.1f}: are they in km/h or knots?"
        )
        return [Remark(file, (), text)]
