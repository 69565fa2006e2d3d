"""Days and moments of the site's clock as minutes since the scenario's first midnight."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from towerpace.scenario.tables import day_in
from towerpace.units import DAY_MIN

DATE_ALLOWED = "a date as 2027-06-25"
MOMENT_ALLOWED = "a date as 2027-06-25, or a moment of the site's clock as 2027-06-25T08:10"
_MOMENT = re.compile(r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d(:\d\d)?")


@dataclass(frozen=True, slots=True)
class Moment:
    """A moment as somebody wrote it down.

    minute : since the scenario's first midnight; of a day alone its first. [min]
    exact : whether the time of the day is told.
    """

    minute: int
    exact: bool

    @property
    def latest(self) -> int:
        """The end of what it may mean: of a day alone the midnight after it. [min]"""
        return self.minute if self.exact else self.minute + DAY_MIN


def end_of(day: dt.date, *, start: dt.date) -> int:
    """The midnight that ends a day. [min]"""
    return ((day - start).days + 1) * DAY_MIN


def moment_of(cell: str, *, start: dt.date) -> Moment | None:
    """The day or moment in a cell, or None. start : the scenario's first day.

    >>> moment_of("2027-03-02T08:10", start=dt.date(2027, 3, 1))
    Moment(minute=1930, exact=True)
    """
    day = day_in(cell)
    if day is not None:
        return Moment((day - start).days * DAY_MIN, False)
    if not _MOMENT.fullmatch(cell):
        return None
    try:
        moment = dt.datetime.fromisoformat(cell)
    except ValueError:
        return None
    since = moment - dt.datetime.combine(start, dt.time())
    return Moment(int(since.total_seconds() // 60), True)


def shown_minute(minute: int, *, start: dt.date) -> str:
    """A minute as it would be written into a file.

    >>> shown_minute(1930, start=dt.date(2027, 3, 1))
    '2027-03-02T08:10'
    """
    moment = dt.datetime.combine(start, dt.time()) + dt.timedelta(minutes=minute)
    return moment.isoformat(timespec="minutes")


def clock_doubt(cell: str, *, zone: str | None) -> str | None:
    """What is doubtful about a moment because the clock was changed that night; None for nearly every one.

    >>> clock_doubt("2027-11-07T01:30", zone="America/New_York")
    'the clock shows this time twice that night; the first of the two is meant'
    """
    if zone is None or not _MOMENT.fullmatch(cell):
        return None
    moment = dt.datetime.fromisoformat(cell).replace(tzinfo=ZoneInfo(zone))
    first, second = moment.utcoffset(), moment.replace(fold=1).utcoffset()
    if first == second or first is None or second is None:
        return None
    if first > second:
        return "the clock shows this time twice that night; the first of the two is meant"
    return "the clock leaves this time out that night; it is kept as written"
