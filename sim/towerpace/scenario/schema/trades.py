"""Resources, and trades that work through the fronts."""

from typing import Annotated, Literal

from pydantic import Field

from towerpace.scenario.fields import (
    Count,
    CountFrom0,
    Names,
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
)
from towerpace.scenario.quantities import Bounds, Value
from towerpace.scenario.spreads import Spread
from towerpace.scenario.words import Words


class Resource(SourcedTable):
    """Interchangeable units: gangs, cranes, hoists, bays.

    cost_per_day : of one unit from the first day any unit is used to the last, on the days that `paid` says.
    cost_mobilise : of bringing one unit and taking it away.
    """

    count: CountFrom0
    order: Literal["rank", "first come"] = "rank"
    cost_per_day: NumberFrom0 | None = None
    cost_mobilise: NumberFrom0 | None = None
    paid: Literal["calendar days", "working days"] = "calendar days"


class Learning(SourcedTable):
    """Unit (Crawford) learning curve over fronts."""

    rate: Share
    plateau_fronts: Count


class After(SourcedTable):
    """A condition for the start of a front."""

    on: Text
    levels_up: Whole = 0
    zones: Literal["same", "all"] = "same"
    lag_h: SpreadFrom0 = Spread.constant(0.0)


class TradeTable(SourcedTable):
    """What every trade says."""

    pace: SpreadAbove0 = Spread.constant(1.0)
    needs: Annotated[dict[str, Count], Field(min_length=1), Words("resource = quantity, at least one")]
    calendar: Text
    after: Annotated[tuple[After, ...], Field(min_length=1), Words("a list of tables, at least one")]


class GangTrade(TradeTable):
    """A trade with one step a front."""

    kind: Literal["gang"]
    column: Text
    unit_min: SpreadFrom0
    learning: Learning | None = None
    difficulty: Truth = True
    limits: Names = ()
    outside: Truth = False


class PanelTrade(TradeTable):
    """The trade that lifts panels."""

    kind: Literal["panels"]
    families: SomeNames


Trade = Annotated[GangTrade | PanelTrade, Field(discriminator="kind")]


class Correlation(SourcedTable):
    """Gaussian copula between pace factors, pairwise."""

    trades: Annotated[tuple[Text, ...], Field(min_length=2), Words("a list of names, at least two")]
    rho: Annotated[Value, *number_in(Bounds(low=-1, high=1, low_open=True, high_open=True))]


class Policy(SourcedTable):
    """Who is served first."""

    rank: Literal["lowest front", "most urgent"] = "lowest front"
