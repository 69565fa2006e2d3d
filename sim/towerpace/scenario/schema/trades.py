"""Resources, and trades that work through the fronts."""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from towerpace.scenario.complaints import Complaint, RefusalError
from towerpace.scenario.fields import (
    Count,
    CountFrom0,
    Day,
    Names,
    NumberAbove0,
    NumberFrom0,
    Share,
    SomeNames,
    SourcedTable,
    SpreadAbove0,
    SpreadFrom0,
    Text,
    Truth,
    Whole,
    number_in,
    spread_in,
)
from towerpace.scenario.quantities import Bounds, Value
from towerpace.scenario.schema.tower import ClosedSpan
from towerpace.scenario.spreads import Spread
from towerpace.scenario.words import Words

MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
Month = Literal["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"]


class Breakdown(SourcedTable):
    """Failures of one unit, each put right when the job in hand has ended.

    every_h : clock hours from one repair to the next failure (200 working hours of a week of 56 are 600).
    repair_h : clock hours. swap_h : another unit takes over by then if the repair would take longer.
    """

    every_h: Annotated[Spread, *spread_in(Bounds(low=1))]
    repair_h: SpreadFrom0
    swap_h: SpreadFrom0 | None = None


class Resource(SourcedTable):
    """Interchangeable units: gangs, cranes, hoists, bays.

    cost_per_day : of one unit from the first day any unit is used to the last, on the days that `paid` says.
    cost_mobilise : of bringing one unit and taking it away.
    arrives : first day on which the units are there. leaves : from this day on they are taken away, each when
        its job ends. away : spans of days in which they are elsewhere; each goes when its job ends.
    breakdown : of each unit by itself.
    """

    count: CountFrom0
    order: Literal["rank", "first come"] = "rank"
    cost_per_day: NumberFrom0 | None = None
    cost_mobilise: NumberFrom0 | None = None
    paid: Literal["calendar days", "working days"] = "calendar days"
    arrives: Day | None = None
    leaves: Day | None = None
    away: tuple[ClosedSpan, ...] = ()
    breakdown: Breakdown | None = None


class Learning(SourcedTable):
    """Unit (Crawford) learning curve over fronts in planned order.

    reset : "difficulty" begins anew at every front whose difficulty is not that of the front before.
    """

    rate: Share
    plateau_fronts: Count
    reset: Literal["difficulty"] | None = None


class LongShift(SourcedTable):
    """Output lost per hour beyond `after_h` of a day, over the hours of an average week of the calendar."""

    after_h: NumberAbove0
    loss: Annotated[Spread, *spread_in(Bounds(low=0, high=1, high_open=True))]


class After(SourcedTable):
    """A condition for the start of a front.

    on : "handover", "closing_in", "water_test", a trade; or an activity or "mock_up", which have no level.
    """

    on: Text
    levels_up: Whole = 0
    zones: Literal["same", "all"] = "same"
    lag_h: SpreadFrom0 = Spread.constant(0.0)


class TradeTable(SourcedTable):
    """What every trade says.

    needs : taken together for a front, as a gang and the mobile platform it works from.
    """

    pace: SpreadAbove0 = Spread.constant(1.0)
    needs: Annotated[dict[str, Count], Field(min_length=1), Words("resource = quantity, at least one")]
    calendar: Text
    after: Annotated[tuple[After, ...], Field(min_length=1), Words("a list of tables, at least one")]
    learning: Learning | None = None
    long_shift: LongShift | None = None


class PieceClass(SourcedTable):
    """Pieces of one class of a trade: tighter curves take smaller pieces, and more of them."""

    column: Text
    unit_min: SpreadFrom0


class GangTrade(TradeTable):
    """A trade whose gang does a front in one go, or coat by coat.

    column, unit_min : units of a front and minutes for each; or classes, which say both for every class.
    coats : how often each unit is gone over, unit_min each time. drying_h : elapsed between two coats.
    drying_cold_h : mean of drying_h in the cold months; whatever is drawn is stretched by the ratio.
    drying_limits : weather in which drying stands still.
    """

    kind: Literal["gang"]
    column: Text | None = None
    unit_min: SpreadFrom0 | None = None
    classes: dict[str, PieceClass] = Field(default_factory=dict)
    coats: Count = 1
    drying_h: SpreadFrom0 | None = None
    drying_cold_h: NumberAbove0 | None = None
    cold_months: Annotated[tuple[Month, ...], Words("a list of months as jan")] = ()
    drying_limits: Names = ()
    difficulty: Truth = True
    limits: Names = ()
    outside: Truth = False

    @model_validator(mode="after")
    def _dries_slower_in_the_cold(self) -> Self:
        if self.drying_h is not None and self.drying_cold_h is not None:
            mean = self.drying_h.mean()
            if not 0 < mean <= self.drying_cold_h:
                allowed = f"at least the mean of drying_h, which is {mean:g} and must be above 0"
                found = f"{self.drying_cold_h:g}"
                raise RefusalError([Complaint(("drying_cold_h",), found, allowed)])
        return self


class PanelTrade(TradeTable):
    """The trade that lifts panels.

    hole : whether a lost panel holds the trades after its front and the same zone above ("hold"), or they go
        on and gang and crane come back for it ("return"), or it is sheeted meanwhile and does not even hold
        closing-in ("infill").
    return_set_factor : setting time of a panel on a return visit over the usual one. [-]
    """

    kind: Literal["panels"]
    families: SomeNames
    hole: Literal["return", "hold", "infill"] = "return"
    return_set_factor: NumberAbove0 = Value(1.0)


Trade = Annotated[GangTrade | PanelTrade, Field(discriminator="kind")]


class Correlation(SourcedTable):
    """Gaussian copula between pace factors, pairwise."""

    trades: Annotated[tuple[Text, ...], Field(min_length=2), Words("a list of names, at least two")]
    rho: Annotated[Value, *number_in(Bounds(low=-1, high=1, low_open=True, high_open=True))]


class Policy(SourcedTable):
    """Who is served first."""

    rank: Literal["lowest front", "most urgent"] = "lowest front"
