"""What has been promised: closing-in and contract dates."""

from towerpace.scenario.fields import (
    Day,
    Names,
    SomeNames,
    SourcedTable,
    Whole,
)


class ClosingIn(SourcedTable):
    """Milestone that releases the interior of a level."""

    trades: SomeNames
    also_above: Names = ()


class Contract(SourcedTable):
    """A date that the contract names."""

    level: Whole | None = None
    date: Day
