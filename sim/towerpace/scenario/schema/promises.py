"""What has been promised: closing-in and contract dates."""

from typing import Annotated

from towerpace.scenario.fields import (
    Day,
    Names,
    NumberFrom0,
    SomeNames,
    SourcedTable,
    Text,
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


class BidDocument(SourcedTable):
    """Who stands for a bid, and what it does not hold; printed with it, and decides no number."""

    prepared_by: Annotated[Text | None, key("Who has prepared it: a role or an office.", '"planning"')] = None
    reviewed_by: Annotated[
        Text | None, key("Who has reviewed it; not who has prepared it.", '"commercial review"')
    ] = None
    revision: Annotated[Text | None, key("Which revision of the bid it is.", '"B"')] = None
    data_date: Annotated[
        Day | None, key("The day on which what is known of the site and its trades stood so.", "2026-11-02")
    ] = None
    exclusions: Annotated[
        Names, key("What the duration does not hold, one after the other.", '["changes of design"]')
    ] = ()
    contingency_held_by: Annotated[
        Text | None, key("Who may spend the contingency.", '"the contractor\'s director"')
    ] = None
