"""The vocabulary of a scenario file: its tables and keys.

Each table checks its own keys. What ties keys together (references, dates, cycles) is checked on the raw file
by the modules of rules, so that a wrong type in one table does not hide a wrong name in another.
"""

from typing import Annotated, ClassVar, Literal

from pydantic import Field

from towerpace.scenario.calendars import Interval
from towerpace.scenario.fields import (
    AnySpread,
    Chance,
    Count,
    CountFrom0,
    Day,
    Days,
    Exponent,
    Names,
    Number,
    NumberAbove0,
    NumberFrom0,
    OpenHours,
    Share,
    SomeNames,
    SourcedTable,
    SpreadAbove0,
    SpreadFrom0,
    Table,
    Text,
    Truth,
    Whole,
    number_in,
)
from towerpace.scenario.quantities import Bounds, Value
from towerpace.scenario.spreads import Spread
from towerpace.scenario.words import Words


class Tower(SourcedTable):
    """The tower, its first day and its table of levels."""

    name: Text
    start: Day
    horizon_days: Days
    levels: Text


class Week(Table):
    """Working intervals of each day of the week, minutes since midnight; a missing day is closed. [min]"""

    mon: OpenHours = ()
    tue: OpenHours = ()
    wed: OpenHours = ()
    thu: OpenHours = ()
    fri: OpenHours = ()
    sat: OpenHours = ()
    sun: OpenHours = ()

    def days(self) -> tuple[tuple[Interval, ...], ...]:
        """The seven days, Monday first, as `datetime.date.weekday` counts."""
        return self.mon, self.tue, self.wed, self.thu, self.fri, self.sat, self.sun


class ClosedSpan(SourcedTable):
    """Days without work, first and last included."""

    from_: Day = Field(alias="from")
    to: Day


class Calendar(SourcedTable):
    """A working calendar."""

    week: Week
    closed: Annotated[tuple[Day, ...], Words("a list of dates as 2027-03-26")] = ()
    closed_spans: tuple[ClosedSpan, ...] = ()


class Weather(SourcedTable):
    """The wind and weather record, the laws that carry it to the site, and the generator."""

    record: Text
    record_height_m: NumberAbove0
    utc_offset_h: Annotated[Value, *number_in(Bounds(low=-12, high=14))]
    height_law: Literal["en1991", "asce7", "power"]
    site_exposure: Text | None = None
    gust_exponent: Exponent | None = None
    mean_exponent: Exponent | None = None
    missing_gust_factor: Annotated[Value, *number_in(Bounds(low=1))]
    knots: Truth = False
    generator: Literal["blocks", "replay"]
    block_days: Count = 7
    season_days: Count = 30
    year_factor_sd: Exponent | None = None
    replay_year: Whole | None = None


class Limit(SourcedTable):
    """A weather limit: exactly one variable."""

    remark: ClassVar[str] = "the unit is part of the key: m/s, mm/h, degC, km; convert other units"

    wind_above_m_s: NumberAbove0 | None = None
    rain_above_mm_h: NumberFrom0 | None = None
    temperature_below_degC: Number | None = None
    temperature_above_degC: Number | None = None
    visibility_below_km: NumberAbove0 | None = None
    kind: Literal["gust", "mean"] | None = None
    restart_min: CountFrom0 = 0
    height_m: NumberAbove0 | None = None
    maker_limit_m_s: NumberAbove0 | None = None
    source: Text

    @property
    def variable(self) -> str:
        """The variable key that is set, as "wind_above_m_s"."""
        return next(key for key in LIMIT_VARIABLES if getattr(self, key) is not None)

    @property
    def threshold(self) -> Value:
        """The number of the variable key, in the unit that the key names."""
        value: Value = getattr(self, self.variable)
        return value


LIMIT_VARIABLES = tuple(name for name in Limit.model_fields if "_above_" in name or "_below_" in name)


class Structure(SourcedTable):
    """How late levels are handed over: slips per level that add up as the structure rises."""

    slip_days: AnySpread


class Resource(SourcedTable):
    """Interchangeable units: gangs, cranes, hoists, bays."""

    count: CountFrom0
    order: Literal["rank", "first come"] = "rank"


class Storage(SourcedTable):
    """Floor slots for crates."""

    slots_per_level: Count


class Crane(SourcedTable):
    """Moves of the floor crane."""

    resource: Text
    set_up_min: SpreadFrom0
    zone_move_min: NumberFrom0
    level_move_min: NumberFrom0
    per_level_min: NumberFrom0
    panels_per_position: Count
    reposition_min: SpreadFrom0


class Hoist(SourcedTable):
    """Hoist trips with crates."""

    resource: Text
    calendar: Text
    limits: Names
    load_min: SpreadFrom0
    unload_min: SpreadFrom0
    speed_m_s: NumberAbove0
    acceleration_m_s2: NumberAbove0
    jerk_m_s3: NumberAbove0 | None = None
    share: Share


class Delivery(SourcedTable):
    """Trucks with crates."""

    calendar: Text
    crates_per_truck: Count
    late_h: SpreadFrom0
    late_chance: Chance
    resource: Text
    unload_min: SpreadFrom0


class Family(SourcedTable):
    """A family of panels."""

    column: Text
    set_min: SpreadFrom0
    limits: Names
    crate_panels: Count
    mass_kg: NumberAbove0 | None = None
    area_m2: NumberAbove0 | None = None


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


class ClosingIn(SourcedTable):
    """Milestone that releases the interior of a level."""

    trades: SomeNames
    also_above: Names = ()


class Policy(SourcedTable):
    """Who is served first."""

    rank: Literal["lowest front", "most urgent"] = "lowest front"


class Correlation(SourcedTable):
    """Gaussian copula between pace factors, pairwise."""

    trades: Annotated[tuple[Text, ...], Field(min_length=2), Words("a list of names, at least two")]
    rho: Annotated[Value, *number_in(Bounds(low=-1, high=1, low_open=True, high_open=True))]


class Contract(SourcedTable):
    """A date that the contract names."""

    level: Whole | None = None
    date: Day


class Settings(Table):
    """A whole scenario file; named tables keep the order of the file."""

    tower: Tower
    calendar: Annotated[dict[str, Calendar], Field(min_length=1), Words("tables [calendar.NAME]")]
    weather: Weather | None = None
    limit: dict[str, Limit] = Field(default_factory=dict)
    structure: Structure
    resource: Annotated[dict[str, Resource], Field(min_length=1), Words("tables [resource.NAME]")]
    storage: Storage | None = None
    crane: Crane | None = None
    hoist: Hoist | None = None
    delivery: Delivery | None = None
    family: dict[str, Family] = Field(default_factory=dict)
    trade: Annotated[dict[str, Trade], Field(min_length=1), Words("tables [trade.NAME]")]
    closing_in: ClosingIn | None = None
    policy: Policy = Policy()
    correlation: tuple[Correlation, ...] = ()
    contract: dict[str, Contract] = Field(default_factory=dict)
