"""A record in standard time laid onto the clock of a site, which people set forward in summer.

Shifts, dates and deliveries are clock time; a record keeps one offset from UTC all the year. So in summer the
crew that begins at seven by the clock meets the record's hour of six, which is calmer. The days of a project
stay days of 24 clock hours: the record's hours move onto them.

An hour that the clock has twice gets the windier row of the two. An hour that it has not, when it is set
forward, still stands on the axis: no row of the record belongs to it, so it gets the windier row of the hour
before and the hour after. Calendars and weather limits then speak of clock hours on both sides. Only
what has no window (curing, drying, lead times) runs on along the axis, and is an hour off across a change.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np

from towerpace.climate.record import Record
from towerpace.units import Floats, Ints

HOURS_A_DAY = 24


@dataclass(frozen=True, eq=False)
class SiteClock:
    """The days of a record as the clock of a site reads them.

    Attributes
    ----------
    record
        The days of the record once for each way in which a day of the project may run: in standard time, in
        summer time, and on the days of a change. Its day k n + d is day d of the n of the record, read in the
        k-th way.
    first_row
        What is added to the record day that a project day is dealt, shape (n_days,).
    """

    record: Record
    first_row: Ints


def on_clock(
    record: Record, *, time_zone: str, utc_offset_h: float, first_day: date, n_days: int
) -> SiteClock:
    """A record on the clock of a site.

    Parameters
    ----------
    record
        Hours in one time without summer time.
    time_zone
        IANA name of the site's zone, as "America/New_York".
    utc_offset_h
        Offset of the record's hours from UTC, east positive. [h]
    first_day, n_days
        Days of the project. Whether the clock is in summer time goes by them and not by the record's dates,
        as a spell of March may be dealt to April.

    Notes
    -----
    Clock hour h of a day gets row floor(h - (o - u)) of the record day it was dealt, o the zone's offset at
    that hour and u the record's; before midnight that is an hour of the record day before. Where o - u is no
    whole number, it is the row in which the clock hour begins. Rules of a zone are those of the time zone
    database at hand; for years to come they are what is known today.

    Examples
    --------
    >>> offsets_h(date(2027, 3, 14), zone=ZoneInfo("America/New_York"))[:, 1:5].tolist()
    [[-5.0, -5.0, -4.0, -4.0], [-5.0, -4.0, -4.0, -4.0]]
    """
    zone = ZoneInfo(time_zone)
    ways: dict[bytes, tuple[int, Ints]] = {}
    which = np.empty(n_days, dtype=np.int64)
    for number in range(n_days):
        begins_h = np.arange(HOURS_A_DAY) - (
            offsets_h(first_day + timedelta(number), zone=zone) - utc_offset_h
        )
        rows = np.floor(begins_h).astype(np.int64)
        which[number], _ = ways.setdefault(rows.tobytes(), (len(ways), rows))
    read = [_rows(record, rows) for _, rows in ways.values()]
    return SiteClock(_taken(record, np.concatenate(read)), which * record.n_days)


def offsets_h(day: date, *, zone: ZoneInfo) -> Floats:
    """Offset from UTC at each clock hour of a day, twice, shape (2, 24). [h]

    The two rows differ where the clock has an hour twice (first and second pass) or not at all (as before and
    as after the change).
    """
    midnight = datetime.combine(day, time(), zone)
    ends = (midnight, midnight + timedelta(1))
    first, last = (_offset_h(moment) for moment in ends)
    if first == last:
        return np.full((2, HOURS_A_DAY), first)
    moments = [midnight + timedelta(hours=hour) for hour in range(HOURS_A_DAY)]
    return np.array([[_offset_h(moment.replace(fold=fold)) for moment in moments] for fold in (0, 1)])


def _offset_h(moment: datetime) -> float:
    offset = moment.utcoffset()
    assert offset is not None, "a moment of a zone has an offset"
    return offset / timedelta(hours=1)


def _rows(record: Record, hours: Ints) -> Ints:
    """Row of every hour of every record day, read in one way, shape (24 n_days,).

    hours : row of each clock hour, counted from midnight of its day, on either side of a change, (2, 24).
    """
    midnights = HOURS_A_DAY * np.arange(record.n_days)[:, np.newaxis]
    one, other = ((midnights + hours_of_side) % len(record.gust_m_s) for hours_of_side in hours)
    windier: Ints = np.where(record.gust_m_s[other] > record.gust_m_s[one], other, one).reshape(-1)
    return windier


def _taken(record: Record, rows: Ints) -> Record:
    """Whole rows of a record, all columns alike."""
    columns: dict[str, Any] = {
        field.name: values[rows]
        for field in fields(record)
        if isinstance(values := getattr(record, field.name), np.ndarray)
    }
    return replace(record, **columns)
