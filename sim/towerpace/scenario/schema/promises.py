"""What has been promised: closing-in and contract dates."""

from towerpace.scenario.fields import (
    Day,
    Names,
    NumberFrom0,
    SomeNames,
    SourcedTable,
    Truth,
    Whole,
)


class ClosingIn(SourcedTable):
    """Milestone that releases the interior of a level.

    tests : where the level is water tested, the test must have been done.
    """

    trades: SomeNames
    also_above: Names = ()
    tests: Truth = False


class Contract(SourcedTable):
    """A date that the contract names.

    damages_per_day : for every calendar day after the date. damages_most : what they are capped at.
    """

    level: Whole | None = None
    date: Day
    damages_per_day: NumberFrom0 | None = None
    damages_most: NumberFrom0 | None = None
