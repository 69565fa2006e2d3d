"""The weather of a scenario and the limits it is held against."""

from typing import Annotated, ClassVar, Literal

from towerpace.scenario.fields import (
    Count,
    CountFrom0,
    Exponent,
    Number,
    NumberAbove0,
    NumberFrom0,
    SourcedTable,
    Text,
    Truth,
    Whole,
    number_in,
)
from towerpace.scenario.quantities import Bounds, Value


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
    """A weather limit: exactly one variable.

    published : key of a published limit that fills in what is left unsaid, and is named as source.
    """

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
    published: Text | None = None
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
