"""The vocabulary of decisions: what a planner is free to set, and to which values."""

import datetime as dt
from typing import Annotated, Any

from pydantic import Field

from towerpace.scenario.fields import Names, SomeNames, SourcedTable, Text
from towerpace.scenario.meanings import key
from towerpace.scenario.words import Words

Values = Annotated[tuple[Any, ...], Field(min_length=1), Words("a list of values, at least one")]
End = Annotated[int | float | dt.date, Words("a number or a date")]
Step = Annotated[int | float, Field(gt=0), Words("a number above 0")]
Open = Annotated[
    dict[str, Any], Words("a table of names of decisions, each with a value or a list of values")
]


class Decision(SourcedTable):
    """[decision.NAME]: a key, or several that move together, and the values that it may take."""

    key_: Annotated[
        Text | None,
        key(
            "The key that is decided, dotted as in a set-up.", '"resource.hoist.count"', needed="without keys"
        ),
    ] = Field(alias="key", default=None)
    keys: Annotated[
        SomeNames | None,
        key(
            "Several keys that move together: a value is the same for all of them, or a list with one for "
            "each.",
            '["resource.panel_gang.count", "resource.floor_crane.count"]',
            needed="without key",
        ),
    ] = None
    values: Annotated[
        Values | None,
        key(
            "What it may be set to, beside what the file states; numbers and dates are taken in their order.",
            "[2, 3, 4]",
            needed="without from and to",
        ),
    ] = None
    labels: Annotated[
        SomeNames | None,
        key("What people call the values, one for each.", '["two", "three"]'),
    ] = None
    from_: Annotated[
        End | None,
        key("The first of a range of numbers or dates.", "2027-03-01", unit="as the key", needed="with to"),
    ] = Field(alias="from", default=None)
    to: Annotated[
        End | None,
        key("The last of the range, itself included.", "2027-06-01", unit="as the key", needed="with from"),
    ] = None
    step: Annotated[
        Step | None,
        key(
            "From one value of the range to the next.",
            "7",
            unit="as the key, of dates days",
            needed="with from",
        ),
    ] = None
    when: Annotated[
        Open,
        key(
            "It is open only where other decisions have one of these values; elsewhere the file's value "
            "stands. Of a candidate true or false.",
            "{ hoists = [2, 3] }",
        ),
    ] = Field(default_factory=dict)
    not_with: Annotated[
        Names,
        key(
            "Decisions or candidates that never depart from the file together with this one.",
            '["long_saturday"]',
        ),
    ] = ()
