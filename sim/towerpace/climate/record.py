"""A weather record read from a CSV file: whole years of hours, checked before anything is made of them.

Nothing is filled, clipped or skipped. A record with holes is sent back with the line of every hole,
because a filled hour is an invented hour and would hide in an answer. The blanks that are no fault are
those of a gust, since stations report gusts only when it is gusty, and of the direction of wind that shifts.
"""

import csv
import os
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, fields

import numpy as np

from towerpace.climate.cells import number_faults, numbers
from towerpace.climate.columns import TIME, RecordColumn, find_columns
from towerpace.climate.knots import spread_over_the_knot, whole_knot_share
from towerpace.climate.rows import FIRST_LINE, row_faults
from towerpace.climate.stamps import calendar_years, hours_of, is_leap_day, stamp_faults
from towerpace.faults import Fault, InputError
from towerpace.units import Flags, Floats

Cells = list[tuple[str, ...]]

# All but a few interpolated hours. Speeds spread evenly would come to 0.87 by chance.
LEAST_WHOLE_KNOT_SHARE = 0.95
MAY_BE_BLANK = ("gust", "direction")


@dataclass(frozen=True, eq=False)
class Record:
    """Hours of a weather record, one row an hour, whole years of 365 days without 29 February.

    Attributes
    ----------
    years
        Calendar years of the record in order. Hour h of day d of the y-th of them (all from 0) is row
        24 (365 y + d) + h of every array; all arrays have shape (8760 n_years,).
    height_m
        Height of the anemometer above ground, as the header states it. [m]
    speed_m_s
        Mean wind of the hour's report. [m/s]
    gust_m_s
        Gust as reported; where none was, the missing-gust factor times the speed. [m/s]
    gust_reported
        True where the gust is the station's own.
    temperature_c, rain_mm, visibility_km, thunder
        Further columns; None where the record has none or nobody asked. [degC, mm an hour, km, -]
    direction_deg
        Where the wind comes from, clockwise from north, NaN where the report tells none; None as above. [°]
    """

    years: tuple[int, ...]
    height_m: float
    speed_m_s: Floats
    gust_m_s: Floats
    gust_reported: Flags
    temperature_c: Floats | None = None
    rain_mm: Floats | None = None
    visibility_km: Floats | None = None
    thunder: Flags | None = None
    direction_deg: Floats | None = None

    def __post_init__(self) -> None:
        """Lock the arrays: every trial reads the same record."""
        for field in fields(self):
            values = getattr(self, field.name)
            if isinstance(values, np.ndarray):
                values.setflags(write=False)

    @property
    def n_days(self) -> int:
        """Days of the record."""
        return len(self.speed_m_s) // 24

    @property
    def first_year(self) -> int:
        """The calendar year of the first row."""
        return self.years[0]


def read_record(
    path: str | os.PathLike[str],
    *,
    missing_gust_factor: float,
    knots: bool,
    shown_as: str | None = None,
    needed: Collection[str] | None = None,
) -> Record:
    """The hours of a record in a CSV file whose header names carry the units.

    Parameters
    ----------
    path
        The file. Time stamps are local standard time without daylight saving.
    missing_gust_factor
        What the speed is multiplied by where no gust was reported, at least 1. [-]
    knots
        True if the station reports whole knots: speeds and gusts are spread over their knot.
    shown_as
        Name of the file in faults; the path as given without it.
    needed
        Optional quantities to read, of "temperature", "rain", "visibility", "direction" and "thunder". Those
        named must be there, all but "direction" without a blank, the others are not read. None reads all
        there are.

    Raises
    ------
    InputError
        With every fault of the file at once: columns, stamps, blanks, ranges, gusts below the speed.
    ValueError
        If the missing-gust factor is below 1, which would put gusts below the mean.
    """
    if not 1 <= missing_gust_factor < np.inf:
        raise ValueError(f"missing_gust_factor must be at least 1, got {missing_gust_factor}")
    file = shown_as if shown_as is not None else os.fspath(path)
    header, cells = _table(path, file=file)
    columns, faults = find_columns(header, file=file, needed=needed)
    hours = np.array([], dtype="datetime64[h]")
    if TIME in header:
        stamps = cells[header.index(TIME)]
        hours = hours_of(stamps)
        faults += stamp_faults(stamps, hours=hours, file=file)
    values = {key: numbers(cells[column.index]) * column.factor for key, column in columns.items()}
    faults += _value_faults(values, columns=columns, cells=cells, file=file)
    faults += _knot_faults(values, columns=columns, file=file) if knots else []
    if faults:
        raise InputError(faults)
    kept = ~is_leap_day(hours)
    return _record(
        {key: column_values[kept] for key, column_values in values.items()},
        years=calendar_years(hours),
        height_m=columns["speed"].height_m or 0.0,
        missing_gust_factor=missing_gust_factor,
        knots=knots,
    )


def _record(
    values: Mapping[str, Floats],
    *,
    years: tuple[int, ...],
    height_m: float,
    missing_gust_factor: float,
    knots: bool,
) -> Record:
    speed_m_s, gust_m_s = values["speed"], values["gust"]
    if knots:
        speed_m_s, gust_m_s = spread_over_the_knot(speed_m_s, gust_m_s=gust_m_s)
    reported = ~np.isnan(gust_m_s)
    return Record(
        years=years,
        height_m=height_m,
        speed_m_s=speed_m_s,
        gust_m_s=np.where(reported, gust_m_s, missing_gust_factor * speed_m_s),
        gust_reported=reported,
        temperature_c=values.get("temperature"),
        rain_mm=values.get("rain"),
        visibility_km=values.get("visibility"),
        thunder=values["thunder"] > 0 if "thunder" in values else None,
        direction_deg=values.get("direction"),
    )


def _table(path: str | os.PathLike[str], *, file: str) -> tuple[list[str], Cells]:
    """Names of the header and the cells of each column; a file that is no such table raises at once."""
    try:
        with open(path, encoding="utf-8-sig", newline="") as lines:
            rows = list(csv.reader(lines))
    except OSError as error:
        fault = Fault(file, None, "file", f"missing or unreadable: {error.strerror}", "a CSV file", None)
        raise InputError([fault]) from error
    except (UnicodeDecodeError, csv.Error) as error:
        raise InputError([Fault(file, None, "file", str(error), "a CSV table in UTF-8", None)]) from error
    while rows and not rows[-1]:  # empty lines at the end say nothing
        rows.pop()
    if len(rows) < FIRST_LINE:
        fault = Fault(file, 1, "file", "no hours", "a header and a row for every hour", None)
        raise InputError([fault])
    header, body = rows[0], rows[1:]
    ragged = np.flatnonzero(np.fromiter(map(len, body), dtype=np.int64, count=len(body)) != len(header))
    if len(ragged):
        allowed = f"{len(header)} cells, as in the header"
        raise InputError(
            row_faults(ragged, file=file, key="row", found=lambda i: f"{len(body[i])} cells", allowed=allowed)
        )
    return header, list(zip(*body, strict=True))


def _value_faults(
    values: Mapping[str, Floats],
    *,
    columns: Mapping[str, RecordColumn],
    cells: Sequence[tuple[str, ...]],
    file: str,
) -> list[Fault]:
    faults: list[Fault] = []
    for key, column in columns.items():
        faults += number_faults(
            cells[column.index], values=values[key], column=column, file=file, blanks=key in MAY_BE_BLANK
        )
    if {"speed", "gust"} <= columns.keys():
        speed, gust = columns["speed"], columns["gust"]
        below = np.isfinite(values["speed"]) & (values["gust"] < values["speed"])
        faults += row_faults(
            np.flatnonzero(below),
            file=file,
            key=gust.name,
            found=lambda i: f"{cells[gust.index][i]} with {speed.name} {cells[speed.index][i]}",
            allowed="a gust of at least the speed of its hour, or a blank",
        )
    return faults


def _knot_faults(
    values: Mapping[str, Floats], *, columns: Mapping[str, RecordColumn], file: str
) -> list[Fault]:
    if "speed" not in values:
        return []
    share = whole_knot_share(values["speed"][np.isfinite(values["speed"])])
    if share >= LEAST_WHOLE_KNOT_SHARE:
        return []
    found = f"a record in whole knots with {100 * share:.0f} % of its speeds on one"
    allowed = f"at least {100 * LEAST_WHOLE_KNOT_SHARE:.0f} %, or a record not said to be in knots"
    return [Fault(file, 1, columns["speed"].name, found, allowed, None)]
