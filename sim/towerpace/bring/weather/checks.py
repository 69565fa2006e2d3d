"""What a record says at the user's limits, and signs that it was misread: a wrong unit, a wrong clock."""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from towerpace.climate.hours import HOURS_A_DAY
from towerpace.climate.record import Record
from towerpace.units import Flags, Floats

DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
# Knots read as m/s give a mean of 9 on an open airfield; few places on land come near to 8 at 10 m.
WINDIEST_MEAN_M_S = 8.0
CALMEST_MEAN_M_S = 1.5
# On land the sun stirs the air: the windiest hour of the mean day is early in the afternoon.
WINDY_HOURS = range(10, 20)


@dataclass(frozen=True, slots=True)
class WorkHours:
    """Hours of the week that count: weekdays from Monday 0, from an hour to before another."""

    weekdays: tuple[int, ...]
    from_h: int
    to_h: int

    def text(self) -> str:
        """The hours as people write them, as "mon to sat, 07:00 to 17:00"."""
        first, last = self.weekdays[0], self.weekdays[-1]
        in_a_row = self.weekdays == tuple(range(first, last + 1)) and last > first
        days = f"{DAYS[first]} to {DAYS[last]}" if in_a_row else ", ".join(DAYS[k] for k in self.weekdays)
        return f"{days}, {self.from_h:02d}:00 to {self.to_h:02d}:00"

    def of(self, years: Collection[int]) -> Flags:
        """True for the work hours of record years, 29 February left out, shape (8760 n_years,)."""
        days = np.concatenate([_days(year) for year in years])
        weekday = (days.astype(np.int64) + 3) % 7  # 1 January 1970 was a Thursday
        hour = np.arange(HOURS_A_DAY)
        in_shift = (hour >= self.from_h) & (hour < self.to_h)
        return np.outer(np.isin(weekday, list(self.weekdays)), in_shift).reshape(-1)


@dataclass(frozen=True, slots=True)
class Stops:
    """Work hours that one limit stops.

    by_year : the same for each year of the record.
    """

    kind: Literal["gust", "mean"]
    limit_m_s: float
    stopped_h: int
    work_h: int
    by_year: tuple[int, ...]

    @property
    def percent(self) -> float:
        """Stopped share of the work hours. [%]"""
        return 100 * self.stopped_h / self.work_h


def stops_at(
    record: Record, *, gust_limits: Sequence[float], mean_limits: Sequence[float], work: WorkHours
) -> list[Stops]:
    """Work hours in which the wind at the height of the instrument is above each limit.

    Parameters
    ----------
    gust_limits, mean_limits
        Limits on the gust and on the mean wind. [m/s]
    """
    counted = work.of(record.years)
    found = []
    for kind, limits, wind in (
        ("gust", gust_limits, record.gust_m_s),
        ("mean", mean_limits, record.speed_m_s),
    ):
        for limit in limits:
            stopped = ((wind > limit) & counted).reshape(len(record.years), -1).sum(axis=1)
            by_year = tuple(int(hours) for hours in stopped)
            word: Literal["gust", "mean"] = "gust" if kind == "gust" else "mean"
            found.append(Stops(word, limit, sum(by_year), int(counted.sum()), by_year))
    return found


def stop_lines(stops: Sequence[Stops], *, record: Record, work: WorkHours) -> Iterator[str]:
    """The stopped hours as people read them, below the height and hours that they hold for."""
    yield f"Stopped hours of this record at your limits, at {record.height_m:g} m, {work.text()}"
    cells = [(f"{one.limit_m_s:g}", f"{one.stopped_h:,}", f"{one.percent:.2f}") for one in stops]
    wide = [max(map(len, column)) for column in zip(*cells, strict=True)]
    for one, texts in zip(stops, cells, strict=True):
        limit, hours, percent = (text.rjust(width) for text, width in zip(texts, wide, strict=True))
        line = f"  {one.kind} {limit} m/s  {hours} of {one.work_h:,}  {percent} %"
        many = len(one.by_year) > 1
        yield line + (f"  ({min(one.by_year):,} to {max(one.by_year):,} a year)" if many else "")


def unit_doubt(record: Record) -> str | None:
    """Why the unit may be wrong, or None."""
    mean_m_s = float(record.speed_m_s.mean())
    if mean_m_s > WINDIEST_MEAN_M_S:
        return f"a mean wind of {mean_m_s:.1f} m/s, more than nearly any place on land"
    if mean_m_s < CALMEST_MEAN_M_S:
        return f"a mean wind of {mean_m_s:.1f} m/s, less than nearly any open place"
    return None


def clock_doubt(record: Record) -> str | None:
    """Why the clock may be wrong, or None."""
    by_hour: Floats = record.speed_m_s.reshape(-1, HOURS_A_DAY).mean(axis=0)
    windiest = int(by_hour.argmax())
    if windiest in WINDY_HOURS:
        return None
    return (
        f"The windiest hour of the mean day begins at {windiest:02d}:00; on land that is mostly early in the "
        "afternoon. Is the offset from UTC right?"
    )


def _days(year: int) -> NDArray[np.datetime64]:
    days = np.arange(f"{year}-01-01", f"{year + 1}-01-01", dtype="datetime64[D]")
    kept: NDArray[np.datetime64] = days[days.astype(str) != f"{year}-02-29"]
    return kept
