"""The weather of a scenario and the limits it is held against."""

from typing import Annotated, Any, ClassVar, Literal

from pydantic import ConfigDict

from towerpace.scenario.fields import (
    Chance,
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
from towerpace.scenario.meanings import key
from towerpace.scenario.quantities import Bounds, Value

_ONE_VARIABLE = "unless the limit has another variable: exactly one"


class Weather(SourcedTable):
    """The wind and weather record, the laws that carry it to the site, and the generator."""

    record: Annotated[
        Text,
        key(
            "The weather record: a CSV file of whole years, hour by hour, its path relative to this file.",
            '"../weather/laguardia_2013_hourly.csv"',
        ),
    ]
    record_height_m: Annotated[
        NumberAbove0, key("Height above ground of the anemometer that made the record.", "10")
    ]
    utc_offset_h: Annotated[
        Value,
        *number_in(Bounds(low=-12, high=14)),
        key(
            "By how much the standard time of the record is ahead of UTC; all its hours keep this offset, "
            "without summer time.",
            "-5",
        ),
    ]
    height_law: Annotated[
        Literal["en1991", "asce7", "power"],
        key(
            "How wind grows from the anemometer to the height of the work: the profile of EN 1991-1-4 (up to "
            "200 m), that of ASCE 7 (up to its gradient height), or a plain power law.",
            '"en1991"',
        ),
    ]
    site_exposure: Annotated[
        Text | None,
        key(
            "Class of the ground around the site. en1991: 0 open sea, I lake or flat, II open country, III "
            "suburb "
            "or wood, IV city. asce7: B city or suburb, C open country, D water.",
            '"IV"',
            needed='when height_law is "en1991" or "asce7"',
        ),
    ] = None
    gust_exponent: Annotated[
        Exponent | None,
        key(
            "Exponent of the power law for gusts: gust at height z = gust at 10 m x (z / 10)^exponent.",
            "0.11",
            unit="-",
            needed='when height_law is "power"',
        ),
    ] = None
    mean_exponent: Annotated[
        Exponent | None,
        key(
            "Exponent of the power law for mean wind, larger than that of gusts over rough ground.",
            "0.22",
            unit="-",
            needed='when height_law is "power" and a limit of kind "mean" is used',
        ),
    ] = None
    missing_gust_factor: Annotated[
        Value,
        *number_in(Bounds(low=1)),
        key("Gust over mean wind for hours in which the record tells no gust.", "1.33", unit="-"),
    ]
    knots: Annotated[
        Truth,
        key(
            "Whether the record was reported in whole knots. If so, speeds are spread over half a knot to "
            "each "
            "side, so that a limit just beside a whole knot is not misread.",
            "true",
        ),
    ] = False
    generator: Annotated[
        Literal["blocks", "replay"],
        key(
            'Where the weather of a trial comes from: "blocks" of days of the record from around the same '
            "season, "
            'shuffled anew for each trial, or "replay", the record as it came, year by year.',
            '"blocks"',
        ),
    ]
    block_days: Annotated[
        Count,
        key("Length of a block: weather within it stays as it came, so storms keep their length.", "7"),
    ] = 7
    season_days: Annotated[
        Count,
        key("How far from the day of the year a block may be taken, to each side.", "30"),
    ] = 30
    year_factor_sd: Annotated[
        Exponent | None,
        key(
            "How much windier or calmer whole years are than the record: standard deviation of a factor on "
            "wind "
            "drawn once a trial. 0 turns it off.",
            "0.04",
            unit="-",
            needed='when generator is "blocks"',
        ),
    ] = None
    replay_year: Annotated[
        Whole | None,
        key(
            "Year of the record in which every replay begins; without it trials take the years in turn.",
            "2013",
        ),
    ] = None


def _source_or_published(schema: dict[str, Any]) -> None:
    """A published limit brings its source along."""
    del schema["required"]
    schema["anyOf"] = [{"required": ["source"]}, {"required": ["published"]}]


Bearing = Annotated[Value, *number_in(Bounds(low=0, high=360))]
Angle = Annotated[Value, *number_in(Bounds(low=0, high=180))]


class Zone(SourcedTable):
    """What is said of a zone on all its levels."""

    facing_deg: Annotated[
        Bearing,
        key(
            "Compass direction that the outer face of the zone looks to, clockwise from north: 90 is east. "
            "Limits with face_sector_deg look at it.",
            "90",
            unit="°",
        ),
    ]


class Limit(SourcedTable):
    """A weather limit: exactly one variable."""

    model_config = ConfigDict(json_schema_extra=_source_or_published)
    remark: ClassVar[str] = "the unit is part of the key: m/s, mm/h, degC, km; convert other units"

    wind_above_m_s: Annotated[
        NumberAbove0 | None,
        key(
            "Work stops while the wind at the height of the work is above this. A planning input, never "
            "permission to lift: the maker's plate, the lift plan and the person on site govern.",
            "9.8",
            needed=_ONE_VARIABLE,
        ),
    ] = None
    rain_above_mm_h: Annotated[
        NumberFrom0 | None,
        key("Work stops while more rain than this falls in the hour.", "0.5", needed=_ONE_VARIABLE),
    ] = None
    temperature_below_degC: Annotated[
        Number | None, key("Work stops while the air is colder than this.", "5", needed=_ONE_VARIABLE)
    ] = None
    temperature_above_degC: Annotated[
        Number | None, key("Work stops while the air is warmer than this.", "35", needed=_ONE_VARIABLE)
    ] = None
    visibility_below_km: Annotated[
        NumberAbove0 | None,
        key("Work stops while one sees less far than this, as in fog.", "0.4", needed=_ONE_VARIABLE),
    ] = None
    kind: Annotated[
        Literal["gust", "mean"] | None,
        key(
            "Whether a wind limit means the gust (peak of some seconds) or the mean (of minutes). There is "
            "no "
            "default: one taken for the other stops several times too few or too many hours.",
            '"gust"',
            needed="with wind_above_m_s",
        ),
    ] = None
    restart_min: Annotated[
        CountFrom0, key("How long the weather must stay good again before work restarts.", "20")
    ] = 0
    height_m: Annotated[
        NumberAbove0 | None,
        key("Height above ground at which the limit is held, instead of that of the work.", "150"),
    ] = None
    face_sector_deg: Annotated[
        Angle | None,
        key(
            "The limit counts wind in full only if it comes from within this angle of what the zone of the "
            "work faces, on either side; wind from elsewhere by lee_factor. Work of no zone (hoists, "
            "activities) counts all wind. A planning input: wind is stronger at corners, and a lee face is "
            "no permission to lift.",
            "100",
            unit="°",
            needed="with lee_factor",
        ),
    ] = None
    lee_factor: Annotated[
        Chance | None,
        key(
            "What wind from outside the sector is multiplied by: 0 does not count, 1 counts in full.",
            "0.7",
            unit="-",
            needed="with face_sector_deg",
        ),
    ] = None
    maker_limit_m_s: Annotated[
        NumberAbove0 | None,
        key("What the maker's plate allows: the wind limit may not be above it.", "13.9"),
    ] = None
    published: Annotated[
        Text | None,
        key(
            "Key of a published limit of the program's library: it fills in what this table leaves unsaid, "
            "and is "
            "named as source.",
            '"us_scaffold"',
        ),
    ] = None
    source: Annotated[
        Text,
        key(
            "The authority that set the limit: a plate, a lift plan, a standard. A published limit brings "
            "its own.",
            '"lift plan of the panel contractor, revision C"',
        ),
    ]

    @property
    def looks_at_faces(self) -> bool:
        """Whether it counts wind by the face that the work is on."""
        return self.face_sector_deg is not None

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
