"""Types of the fields of a scenario file, each with the words that say what it allows."""

import datetime as dt
from functools import partial
from pathlib import Path
from typing import Annotated, ClassVar

from pydantic import (
    BaseModel,
    ConfigDict,
    Field,
    PlainValidator,
    StringConstraints,
    ValidationInfo,
    WithJsonSchema,
)

from towerpace.scenario.calendars import INTERVAL_PATTERN, INTERVALS_ALLOWED, Interval, parse_day
from towerpace.scenario.meanings import key
from towerpace.scenario.number_forms import number_schema, spread_schema
from towerpace.scenario.quantities import Bounds, Value, parse_spread, parse_value
from towerpace.scenario.spreads import Spread
from towerpace.scenario.tables import Folder
from towerpace.scenario.words import Words

Marks = tuple[PlainValidator, WithJsonSchema, Words]


def number_in(bounds: Bounds) -> Marks:
    """Marks of a field that holds a number."""
    parse = PlainValidator(partial(parse_value, bounds=bounds))
    return parse, WithJsonSchema(number_schema(bounds)), Words(f"a number {bounds.words()}")


def spread_in(bounds: Bounds) -> Marks:
    """Marks of a field that holds a spread."""

    def parse(raw: object, info: ValidationInfo) -> Spread:
        folder = info.context if isinstance(info.context, Folder) else Folder(Path())
        return parse_spread(raw, bounds=bounds, read_samples=folder.samples)

    words = Words(f"a number or a spread {bounds.words()}")
    return PlainValidator(parse), WithJsonSchema(spread_schema(bounds)), words


_ANY, _FROM_0, _ABOVE_0 = Bounds(), Bounds(low=0), Bounds(low=0, low_open=True)

Text = Annotated[str, StringConstraints(min_length=1), Words("text")]
Remark = Annotated[str, Words("text")]
Truth = Annotated[bool, Words("true or false")]
Day = Annotated[dt.date, Words("a date as 2027-03-01")]
# More than any site has, and few enough for every array.
MOST = 100_000
Count = Annotated[int, Field(ge=1, le=MOST), Words(f"a whole number, at least 1 and at most {MOST}")]
CountFrom0 = Annotated[int, Field(ge=0, le=MOST), Words(f"a whole number, at least 0 and at most {MOST}")]
Days = Annotated[int, Field(ge=1, le=36_500), Words("a whole number of days, at least 1 and at most 36500")]
Whole = Annotated[int, Field(ge=-MOST, le=MOST), Words("a whole number")]
Names = Annotated[tuple[Text, ...], Words("a list of names")]
SomeNames = Annotated[tuple[Text, ...], Field(min_length=1), Words("a list of names, at least one")]
Number = Annotated[Value, *number_in(_ANY)]
NumberFrom0 = Annotated[Value, *number_in(_FROM_0)]
NumberAbove0 = Annotated[Value, *number_in(_ABOVE_0)]
Share = Annotated[Value, *number_in(Bounds(low=0, high=1, low_open=True))]
Chance = Annotated[Value, *number_in(Bounds(low=0, high=1))]
Exponent = Annotated[Value, *number_in(Bounds(low=0, high=1, high_open=True))]
AnySpread = Annotated[Spread, *spread_in(_ANY)]
SpreadFrom0 = Annotated[Spread, *spread_in(_FROM_0)]
SpreadAbove0 = Annotated[Spread, *spread_in(_ABOVE_0)]
OpenHours = Annotated[
    tuple[Interval, ...],
    PlainValidator(parse_day),
    WithJsonSchema({"type": "array", "items": {"type": "string", "pattern": INTERVAL_PATTERN}}),
    Words(INTERVALS_ALLOWED),
]


class Table(BaseModel):
    """A table of the file: nothing unknown, nothing converted, nothing changed afterwards."""

    model_config = ConfigDict(strict=True, extra="forbid", frozen=True, arbitrary_types_allowed=True)
    remark: ClassVar[str] = ""


class SourcedTable(Table):
    """A table that may say where its numbers come from."""

    source: Annotated[
        Remark,
        key(
            "Where the numbers of this table come from; `check` lists those without one.",
            '"measured on site"',
        ),
    ] = ""
    note: Annotated[
        Remark, key("A remark for the next reader; the program makes nothing of it.", '"as agreed"')
    ] = ""
