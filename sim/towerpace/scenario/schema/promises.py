"""What has been promised: closing-in and contract dates."""

from typing import Annotated

from towerpace.scenario.fields import (
    Day,
    Names,
    NumberFrom0,
    SomeNames,
    SourcedTable,
    Truth,
    Whole,
)
from towerpace.scenario.meanings import key


class ClosingIn(SourcedTable):
    """Milestone that releases the interior of a level."""

    trades: Annotated[
        SomeNames,
        key(
            "Trades that must be done on the whole level before it counts as closed in.", '["panels", "seal"]'
        ),
    ]
    also_above: Annotated[
        Names,
        key(
            "Trades that must be done on the level above too, as the panels that keep the rain off.",
            '["panels"]',
        ),
    ] = ()
    tests: Annotated[
        Truth, key("Whether the water test of the level, where it has one, must have been done.", "true")
    ] = False


class Contract(SourcedTable):
    """A date that the contract names."""

    level: Annotated[
        Whole | None,
        key(
            "Level whose closing-in the date is for; without the key it is for the finish of all work.", "20"
        ),
    ] = None
    date: Annotated[Day, key("The last day that still keeps the contract.", "2028-11-10")]
    damages_per_day: Annotated[
        NumberFrom0 | None,
        key("What every calendar day after the date costs.", "18", unit="unit of [cost] a day"),
    ] = None
    damages_most: Annotated[
        NumberFrom0 | None, key("What the damages are capped at.", "1800", unit="unit of [cost]")
    ] = None
