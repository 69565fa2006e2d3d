"""The tower, its calendars and how its structure is handed over."""

from typing import Annotated

from pydantic import Field

from towerpace.scenario.calendars import Interval
from towerpace.scenario.fields import (
    AnySpread,
    Day,
    Days,
    NumberFrom0,
    OpenHours,
    SourcedTable,
    Table,
    Text,
    spread_in,
)
from towerpace.scenario.meanings import key
from towerpace.scenario.quantities import Bounds
from towerpace.scenario.spreads import Spread
from towerpace.scenario.time_zones import TimeZone
from towerpace.scenario.words import Words

_SHIFT = '["07:00-12:00", "12:30-17:00"]'


class Tower(SourcedTable):
    """The tower, its first day, its table of levels, and the zone whose clock its times are.

    time_zone : IANA name. Every time of the file is clock time; the hours of the weather record move onto it
        by [weather] utc_offset_h. Without it the clock is taken to show the record's time all the year.
    """

    name: Annotated[Text, key("Name of the tower, as every answer prints it.", '"Gannet Wharf"')]
    start: Annotated[
        Day,
        key(
            "First day of the plan. Nothing happens before its midnight, no date may lie before it.",
            "2027-03-01",
        ),
    ]
    horizon_days: Annotated[
        Days,
        key(
            "How long a trial may run before it counts as unfinished. Give twice the time you expect.",
            "1000",
            unit="calendar days",
        ),
    ]
    levels: Annotated[
        Text,
        key(
            "The table of levels: a CSV file with one row per level and zone, its path relative to this "
            "file.",
            '"levels.csv"',
        ),
    ]
    time_zone: Annotated[
        TimeZone | None,
        key(
            "Zone whose clock all times of this file are, by its IANA name. The hours of the weather record "
            "move onto that clock, summer time and all, by weather.utc_offset_h. Without it the clock is "
            "taken to show the record's time all the year.",
            '"America/New_York"',
        ),
    ] = None


class Week(Table):
    """Working hours of each day of the week."""

    mon: Annotated[
        OpenHours, key("Working hours of Mondays; without the key the day is closed.", _SHIFT)
    ] = ()
    tue: Annotated[
        OpenHours, key("Working hours of Tuesdays; without the key the day is closed.", _SHIFT)
    ] = ()
    wed: Annotated[
        OpenHours, key("Working hours of Wednesdays; without the key the day is closed.", _SHIFT)
    ] = ()
    thu: Annotated[
        OpenHours, key("Working hours of Thursdays; without the key the day is closed.", _SHIFT)
    ] = ()
    fri: Annotated[
        OpenHours, key("Working hours of Fridays; without the key the day is closed.", _SHIFT)
    ] = ()
    sat: Annotated[
        OpenHours, key("Working hours of Saturdays; without the key the day is closed.", '["07:00-13:00"]')
    ] = ()
    sun: Annotated[OpenHours, key("Working hours of Sundays; without the key the day is closed.", "[]")] = ()

    def days(self) -> tuple[tuple[Interval, ...], ...]:
        """The seven days, Monday first, as `datetime.date.weekday` counts."""
        return self.mon, self.tue, self.wed, self.thu, self.fri, self.sat, self.sun


class ClosedSpan(SourcedTable):
    """Days in a row, first and last included."""

    from_: Annotated[Day, key("First day of the span.", "2027-12-24")] = Field(alias="from")
    to: Annotated[Day, key("Last day of the span, itself included.", "2028-01-03")]


class OtherWeek(Table):
    """Working hours of the days that differ from the usual week."""

    mon: Annotated[
        OpenHours | None,
        key(
            "Working hours of Mondays in these days; without the key the usual ones.",
            '["06:00-12:00", "12:30-19:00"]',
        ),
    ] = None
    tue: Annotated[
        OpenHours | None,
        key(
            "Working hours of Tuesdays in these days; without the key the usual ones.",
            '["06:00-12:00", "12:30-19:00"]',
        ),
    ] = None
    wed: Annotated[
        OpenHours | None,
        key(
            "Working hours of Wednesdays in these days; without the key the usual ones.",
            '["06:00-12:00", "12:30-19:00"]',
        ),
    ] = None
    thu: Annotated[
        OpenHours | None,
        key(
            "Working hours of Thursdays in these days; without the key the usual ones.",
            '["06:00-12:00", "12:30-19:00"]',
        ),
    ] = None
    fri: Annotated[
        OpenHours | None,
        key(
            "Working hours of Fridays in these days; without the key the usual ones.",
            '["06:00-12:00", "12:30-19:00"]',
        ),
    ] = None
    sat: Annotated[
        OpenHours | None,
        key("Working hours of Saturdays in these days; without the key the usual ones.", '["07:00-13:00"]'),
    ] = None
    sun: Annotated[
        OpenHours | None,
        key("Working hours of Sundays in these days; without the key the usual ones.", '["20:00-24:00"]'),
    ] = None

    def days(self) -> tuple[tuple[Interval, ...] | None, ...]:
        """The seven days, Monday first; None where the usual hours stay."""
        return self.mon, self.tue, self.wed, self.thu, self.fri, self.sat, self.sun


class DatedHours(SourcedTable):
    """Other hours of a calendar from one day to another, as Saturdays for ten weeks.

    Days off stay off. Where two of them name the same day, the later in the file has it.
    """

    from_: Annotated[Day, key("First day of the other hours.", "2027-05-03")] = Field(alias="from")
    to: Annotated[Day, key("Last day of the other hours, itself included.", "2027-07-10")]
    week: Annotated[
        OtherWeek,
        key(
            "Working hours of the days that differ, in place of the usual ones; [] closes a day. Days off of "
            "the calendar stay off.",
            '{ sat = ["07:00-13:00"] }',
        ),
    ]
    premium_per_hour: Annotated[
        NumberFrom0 | None,
        key(
            "What each hour outside the usual week costs on top, of all who keep this calendar together; "
            "paid from the first start to the last end of their work.",
            "1.5",
            unit="unit of [cost] an hour",
        ),
    ] = None
    fatigue: Annotated[
        Spread | None,
        *spread_in(Bounds(low=1)),
        key(
            "Factor on the minutes of all work by this calendar that falls into these days as planned, 1 "
            "none; drawn once a trial. Without the key nobody tires. It needs a source: yours.",
            '{ low = 1.0, likely = 1.05, high = 1.15, shape = "pert", source = "own records of long weeks" }',
            unit="times",
        ),
    ] = None


class Calendar(SourcedTable):
    """A working calendar."""

    week: Annotated[
        Week,
        key(
            "Working hours of a usual week. A gap between two stretches is a break, which ends a shift.",
            "[calendar.NAME.week]",
        ),
    ]
    closed: Annotated[
        tuple[Day, ...],
        Words("a list of dates as 2027-03-26"),
        key("Single days without work, such as public holidays.", "[2027-03-26, 2027-03-29]"),
    ] = ()
    closed_spans: Annotated[
        tuple[ClosedSpan, ...],
        key(
            "Spans of days without work, such as a winter shutdown.",
            "[{ from = 2027-12-24, to = 2028-01-03 }]",
        ),
    ] = ()
    dated: Annotated[
        tuple[DatedHours, ...],
        key(
            "Other hours from one day to another: Saturdays for ten weeks, winter hours, a month of nights. "
            "Working days count by them.",
            "[[calendar.NAME.dated]]",
        ),
    ] = ()


class Structure(SourcedTable):
    """How late levels are handed over."""

    slip_days: Annotated[
        AnySpread,
        key(
            "How much later than planned each level is handed over, drawn level by level; slips add up as "
            "the "
            "structure rises, so a level inherits those of all below it. Negative: time is made up.",
            '{ low = -0.5, likely = 0, high = 2, shape = "pert" }',
        ),
    ]
    calendar: Annotated[
        Text | None,
        key(
            "Calendar on whose working days levels are handed over: a handover that slips to a day without "
            "work comes on the next working day. Without the key it may fall on any day.",
            '"site"',
        ),
    ] = None
