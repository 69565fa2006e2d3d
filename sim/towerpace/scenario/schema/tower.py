"""The tower, its calendars and how its structure is handed over."""

from typing import Annotated

from pydantic import Field

from towerpace.scenario.calendars import Interval
from towerpace.scenario.fields import (
    AnySpread,
    Day,
    Days,
    OpenHours,
    SourcedTable,
    Table,
    Text,
)
from towerpace.scenario.time_zones import TimeZone
from towerpace.scenario.words import Words


class Tower(SourcedTable):
    """The tower, its first day, its table of levels, and the zone whose clock its times are.

    time_zone : IANA name. Every time of the file is clock time; the hours of the weather record move onto it
        by [weather] utc_offset_h. Without it the clock is taken to show the record's time all the year.
    """

    name: Text
    start: Day
    horizon_days: Days
    levels: Text
    time_zone: TimeZone | None = None


class Week(Table):
    """Working intervals of each day of the week, minutes since midnight; a missing day is closed. [min]"""

    mon: OpenHours = ()
    tue: OpenHours = ()
    wed: OpenHours = ()
    thu: OpenHours = ()
    fri: OpenHours = ()
    sat: OpenHours = ()
    sun: OpenHours = ()

    def days(self) -> tuple[tuple[Interval, ...], ...]:
        """The seven days, Monday first, as `datetime.date.weekday` counts."""
        return self.mon, self.tue, self.wed, self.thu, self.fri, self.sat, self.sun


class ClosedSpan(SourcedTable):
    """Days without work, first and last included."""

    from_: Day = Field(alias="from")
    to: Day


class Calendar(SourcedTable):
    """A working calendar."""

    week: Week
    closed: Annotated[tuple[Day, ...], Words("a list of dates as 2027-03-26")] = ()
    closed_spans: tuple[ClosedSpan, ...] = ()


class Structure(SourcedTable):
    """How late levels are handed over: slips per level that add up as the structure rises."""

    slip_days: AnySpread
