"""Work that happens once, tests that release a level, and risks that may befall either."""

from typing import Annotated, Literal

from pydantic import Field, PlainValidator

from towerpace.scenario.complaints import Complaint, RefusalError, shown
from towerpace.scenario.fields import (
    Chance,
    Count,
    Day,
    Names,
    NumberAbove0,
    Share,
    SourcedTable,
    SpreadAbove0,
    SpreadFrom0,
    Text,
    Whole,
    number_in,
)
from towerpace.scenario.quantities import Bounds, Value
from towerpace.scenario.schema.trades import After
from towerpace.scenario.spreads import Spread
from towerpace.scenario.words import Words

ALL_LEVELS = "all"
LEVEL_WORDS = 'a level, or "all"'


def _level(raw: object) -> int | Literal["all"]:
    if raw == ALL_LEVELS:
        return "all"
    if isinstance(raw, int) and not isinstance(raw, bool):
        return raw
    raise RefusalError([Complaint((), shown(raw), LEVEL_WORDS)])


OneOrAll = Annotated[int | Literal["all"], PlainValidator(_level), Words(LEVEL_WORDS)]
Needs = Annotated[dict[str, Count], Words("resource = quantity")]
# Below freezing the law of maturity does not hold; above 60 degC strength suffers.
Temperature = Annotated[Value, *number_in(Bounds(low=0, high=60))]


class Condition(SourcedTable):
    """A condition for the start of what happens once.

    on : "handover", "closing_in", "water_test", a trade, an activity or "mock_up".
    level : of all but activities and the mock-up, which belong to no level.
    """

    on: Text
    level: OneOrAll | None = None
    lag_h: SpreadFrom0 = Spread.constant(0.0)


Conditions = Annotated[tuple[Condition, ...], Words("a list of tables")]


class Concrete(SourcedTable):
    """A gate: concrete must have gained a share of its strength at 28 days.

    cast : what casts it; its age counts from there. cement : asks for the ACI 209 curve, s for the EN 1992
    curve: one of the two. curing_temperature_degC : planned mean; the weather of a trial does not change it.
    """

    cast: Condition
    share: Share
    cement: Literal["I", "III"] | None = None
    s: NumberAbove0 | None = None
    curing_c: Temperature = Field(alias="curing_temperature_degC")


class Activity(SourcedTable):
    """Work that happens once; exactly one of work_h, lift_min and days says how long it takes.

    work_h : working hours of one gang in its calendar. lift_min : of each of so many lifts, one after the
    other, each started only if it ends within the shift. days : calendar days, round the clock.
    height_m, level : where its wind limits are held; a level gives its height.
    """

    work_h: SpreadFrom0 | None = None
    lift_min: SpreadFrom0 | None = None
    lifts: Count | None = None
    days: SpreadFrom0 | None = None
    needs: Needs = Field(default_factory=dict)
    calendar: Text | None = None
    limits: Names = ()
    height_m: NumberAbove0 | None = None
    level: Whole | None = None
    not_before: Day | None = None
    after: Conditions = ()
    concrete: Concrete | None = None


class MockUp(SourcedTable):
    """A test that is tried until it passes; after the last of `most_tries` the project goes on as if passed.

    try_days, fix_days : calendar days of each try, and of each repair between two tries.
    start : first day of the first try.
    """

    try_days: SpreadFrom0
    pass_chance: Chance
    fix_days: SpreadFrom0
    most_tries: Count
    start: Day | None = None
    after: Conditions = ()


class WaterTest(SourcedTable):
    """The lowest so many levels are sprayed front by front before anything covers their joints.

    hours : working hours of one front.
    """

    levels: Count
    hours: SpreadFrom0
    needs: Annotated[dict[str, Count], Field(min_length=1), Words("resource = quantity, at least one")]
    calendar: Text
    limits: Names = ()
    after: Annotated[tuple[After, ...], Field(min_length=1), Words("a list of tables, at least one")]


class Risk(SourcedTable):
    """Something that may happen: exactly one of delay_days and factor.

    on : what it befalls: an activity, "mock_up", "handover" with its level, or a trade. A delay holds the
        start of an activity or of the first front of a trade (the fronts behind it go on if nothing else
        holds them); it makes a level and all above it later. A factor stretches the minutes of a trade.
    """

    name: Text
    chance: Chance
    on: Text
    level: Whole | None = None
    delay_days: SpreadFrom0 | None = None
    factor: SpreadAbove0 | None = None
