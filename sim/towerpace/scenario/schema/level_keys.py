"""Keys that say other numbers for single levels and zones than the level table does."""

import datetime as dt
from typing import Annotated

from pydantic import Field, PlainValidator, WithJsonSchema

from towerpace.scenario.complaints import Complaint, RefusalError, shown
from towerpace.scenario.fields import CountFrom0, NumberAbove0, SourcedTable, Text, Whole
from towerpace.scenario.meanings import key
from towerpace.scenario.words import Words

_DAY_OR_SHIFT = "a date as 2027-08-02, or a whole number of days later than the level table says"


def _day_or_shift(raw: object) -> dt.date | int:
    is_day = isinstance(raw, dt.date) and not isinstance(raw, dt.datetime)
    is_shift = isinstance(raw, int) and not isinstance(raw, bool) and abs(raw) <= MOST_SHIFT_DAYS
    if is_day or is_shift:
        return raw  # type: ignore[return-value]  # looked at on the lines above
    raise RefusalError([Complaint((), shown(raw), _DAY_OR_SHIFT)])


MOST_SHIFT_DAYS = 36_500
DayOrShift = Annotated[
    dt.date | int,
    PlainValidator(_day_or_shift),
    WithJsonSchema({"anyOf": [{"type": "string", "format": "date"}, {"type": "integer"}]}),
    Words(_DAY_OR_SHIFT),
]
_COUNTS = (
    "Units by column of the level table, in place of its own: panels, brackets, metres of joint; a column of "
    "the table each."
)


class ZoneKeys(SourcedTable):
    """What one zone of a level has other than in the level table."""

    delivery: Annotated[
        DayOrShift | None,
        key("Planned day of the crates of the zone, or how many days later than the table says.", "7"),
    ] = None
    difficulty: Annotated[
        NumberAbove0 | None,
        key("Factor on the minutes of the zone: 1 flat and plain, above 1 harder.", "1.4", unit="times"),
    ] = None
    method: Annotated[
        Text | None,
        key(
            "How panels of the zone are lifted in, as in the level table: a table of [method.NAME], or "
            '"crane".',
            '"hook"',
        ),
    ] = None
    counts: Annotated[dict[str, CountFrom0], key(_COUNTS, "{ flat = 12 }")] = Field(default_factory=dict)


class LevelKeys(SourcedTable):
    """What one level, or several in a row, have other than in the level table."""

    handover: Annotated[
        DayOrShift | None,
        key(
            "Planned day on which the level is handed over, or how many days later than the table says; the "
            "levels above keep theirs.",
            "2027-08-02",
        ),
    ] = None
    slip_days: Annotated[
        Whole,
        key(
            "How many days later than planned each of these levels is handed over than the one below it; the "
            "levels above inherit it, as with structure.slip_days.",
            "2",
        ),
    ] = 0
    delivery: Annotated[
        DayOrShift | None,
        key(
            "Planned day of the crates of all its zones that have one, or how many days later than the table "
            "says.",
            "7",
        ),
    ] = None
    difficulty: Annotated[
        NumberAbove0 | None, key("Factor on the minutes of all its zones.", "1.4", unit="times")
    ] = None
    method: Annotated[
        Text | None,
        key(
            "How panels of all its zones are lifted in, in place of the column method of the level table: a "
            'table of [method.NAME], or "crane".',
            '"hook"',
        ),
    ] = None
    counts: Annotated[dict[str, CountFrom0], key(_COUNTS + " Of every zone.", "{ flat = 12 }")] = Field(
        default_factory=dict
    )
    zone: Annotated[
        dict[str, ZoneKeys],
        key("Single zones of the level, each under its name.", "[level.NAME.zone.NAME]"),
    ] = Field(default_factory=dict)
