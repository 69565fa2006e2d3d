"""The weather of every hour of a project: rows of the record in the order in which they were drawn."""

from dataclasses import dataclass
from functools import cached_property
from typing import Literal, TypeVar

import numpy as np
from numpy.typing import NDArray

from towerpace.climate.faces import FacedWind
from towerpace.climate.record import Record
from towerpace.units import Flags, Floats, Ints

HOURS_A_DAY = 24


Scalar = TypeVar("Scalar", bound=np.generic)

Column = Literal["gust", "mean", "rain", "temperature", "visibility", "thunder", "direction"]
Variable = Column | FacedWind

_FIELDS: dict[str, str] = {
    "gust": "gust_m_s",
    "mean": "speed_m_s",
    "rain": "rain_mm",
    "temperature": "temperature_c",
    "visibility": "visibility_km",
    "thunder": "thunder",
    "direction": "direction_deg",
}


def is_wind(variable: Variable) -> bool:
    """Whether a variable is a speed of the wind, which grows with height and with a windy year."""
    return isinstance(variable, FacedWind) or variable in ("gust", "mean")


@dataclass(frozen=True, eq=False)
class Hours:
    """Weather of each hour from the first midnight of the project, all arrays of shape (n_hours,).

    Attributes
    ----------
    speed_m_s, gust_m_s
        Mean wind and gust at the station. [m/s]
    temperature_c, rain_mm, visibility_km, thunder, direction_deg
        None where the record has no such column. [degC, mm an hour, km, -, °]
    """

    speed_m_s: Floats
    gust_m_s: Floats
    temperature_c: Floats | None = None
    rain_mm: Floats | None = None
    visibility_km: Floats | None = None
    thunder: Flags | None = None
    direction_deg: Floats | None = None

    def values(self, variable: Variable) -> Floats | Flags:
        """Hourly values of one variable, shape (n_hours,).

        Raises
        ------
        ValueError
            If the record has no column of it.
        """
        if isinstance(variable, FacedWind):
            return self.felt(variable)
        values: Floats | Flags | None = getattr(self, _FIELDS[variable])
        if values is None:
            raise ValueError(f"the weather record has no column of {variable}")
        return values

    def felt(self, wind: FacedWind) -> Floats:
        """Hourly wind on a face, shape (n_hours,). [m/s]"""
        speed, direction = (np.asarray(self.values(v), np.float64) for v in (wind.wind, "direction"))
        return wind.felt(speed, direction)


class DealtHours(Hours):
    """Hours of a project from the days of the record that it was dealt; a column is made when asked for.

    Attributes
    ----------
    record, day_rows, factors
        As for `hours_from`.
    """

    record: Record
    day_rows: Ints
    factors: Floats

    def __init__(self, record: Record, day_rows: Ints, *, factors: Floats) -> None:
        self.__dict__.update(record=record, day_rows=day_rows, factors=factors)

    @cached_property
    def speed_m_s(self) -> Floats:
        return self._days(self.record.speed_m_s) * self._hour_factors

    @cached_property
    def gust_m_s(self) -> Floats:
        return self._days(self.record.gust_m_s) * self._hour_factors

    @cached_property
    def temperature_c(self) -> Floats | None:
        return None if self.record.temperature_c is None else self._days(self.record.temperature_c)

    @cached_property
    def rain_mm(self) -> Floats | None:
        return None if self.record.rain_mm is None else self._days(self.record.rain_mm)

    @cached_property
    def visibility_km(self) -> Floats | None:
        return None if self.record.visibility_km is None else self._days(self.record.visibility_km)

    @cached_property
    def thunder(self) -> Flags | None:
        return None if self.record.thunder is None else self._days(self.record.thunder)

    @cached_property
    def direction_deg(self) -> Floats | None:
        return None if self.record.direction_deg is None else self._days(self.record.direction_deg)

    def felt(self, wind: FacedWind) -> Floats:
        """As of the record, and then by the factors: in the order in which other wind is multiplied."""
        as_it_came = Hours(
            self.record.speed_m_s, self.record.gust_m_s, direction_deg=self.record.direction_deg
        )
        return self._days(as_it_came.felt(wind)) * self._hour_factors

    @cached_property
    def _hour_factors(self) -> Floats:
        return np.repeat(self.factors, HOURS_A_DAY)

    def _days(self, values: NDArray[Scalar]) -> NDArray[Scalar]:
        return values.reshape(-1, HOURS_A_DAY)[self.day_rows].reshape(-1)


def hours_from(record: Record, day_rows: Ints, *, factors: Floats) -> DealtHours:
    """Hours of the project from the days of the record that it was dealt.

    Parameters
    ----------
    record
        The record.
    day_rows
        Day of the record for each day of the project, 365 y + day of the year, shape (n_days,).
    factors
        What speed and gust of each day are multiplied by, shape (n_days,). Rain, temperature and the rest
        stay as recorded. [-]

    Raises
    ------
    ValueError
        If there is not one factor for each day, or a day is not in the record.

    Notes
    -----
    Whole days are taken, all columns from the same row, so what goes together in the record (cold with
    wind, rain with gusts) still does.
    """
    n_record_days = record.n_days
    if factors.shape != day_rows.shape:
        raise ValueError(f"{len(day_rows)} days need as many factors, got {len(factors)}")
    if len(day_rows) and (day_rows.min() < 0 or day_rows.max() >= n_record_days):
        raise ValueError(f"a day lies outside the {n_record_days} days of the record")

    return DealtHours(record, day_rows, factors=factors)


def runs(marked: Flags) -> Ints:
    """Runs of marked hours [from, to) in order, shape (n_runs, 2). [h]"""
    if not len(marked):
        return np.empty((0, 2), dtype=np.int64)
    edges = np.flatnonzero(marked[1:] != marked[:-1]) + 1
    first = [0] if marked[0] else []
    last = [len(marked)] if marked[-1] else []
    return np.concatenate([first, edges, last]).astype(np.int64).reshape(-1, 2)
