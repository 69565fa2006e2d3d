"""Calm windows: on how many days so many clear hours come in a row, and at which hour they begin.

A heavy lift, a hoist to be jumped or a pour needs its hours in one piece, which hours of a month do not tell.
A window is clear where the shift runs and no limit of the operation is passed, waits after a stop included.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from towerpace.answers.open_years import Measure, OpenYears, months_from
from towerpace.units import DAY_MIN, HOUR_MIN, Flags, Floats, Ints

MONTHS, HOURS_A_DAY = 12, 24


@dataclass(frozen=True)
class CalmDays:
    """Days of one month on which an operation in one band of levels gets its clear hours in a row. [d]

    shift_days : on which the calendar alone leaves room for them. record_days : of the record as it came.
    generated_days : mean over the generated years, with its 10th and 90th percentile.
    """

    operation: str
    limits: tuple[str, ...]
    lowest: int
    highest: int
    month: str
    shift_days: float
    record_days: float
    generated_days: float
    generated_p10_days: float
    generated_p90_days: float


@dataclass(frozen=True)
class CalmHours:
    """Days of one month on which the clear hours begin at one hour of the clock. [d]

    begins_h : 7 for seven in the morning.
    """

    operation: str
    limits: tuple[str, ...]
    lowest: int
    highest: int
    month: str
    begins_h: int
    shift_days: float
    record_days: float
    generated_days: float


def calm_windows(start: date, *, clear_h: float) -> Measure:
    """Days of each month with so many clear hours in a row, then those by the hour they begin, (12 * 25,)."""
    edges, _ = months_from(start)
    n_days = int(edges[-1]) // DAY_MIN
    month = np.searchsorted(edges, np.arange(n_days) * DAY_MIN, side="right") - 1
    clear_min = round(clear_h * HOUR_MIN)

    def measure(spans: Ints) -> Floats:
        days = np.bincount(month, weights=days_with(spans, clear_min, n_days=n_days), minlength=MONTHS)
        hour = begins_at(spans, clear_min, n_hours=n_days * HOURS_A_DAY).reshape(n_days, HOURS_A_DAY)
        by_hour = np.zeros((MONTHS, HOURS_A_DAY))
        np.add.at(by_hour, month, hour)
        return np.concatenate((days, by_hour.ravel()))

    return measure


def days_with(spans: Ints, clear_min: int, *, n_days: int) -> Flags:
    """True for each day in which so many clear minutes in a row begin, at any minute, (n_days,).

    spans : clear spans, (n, 2), ascending and apart. [min]
    """
    first, last = spans[:, 0], spans[:, 1] - clear_min
    long = last >= first
    first_day, last_day = first[long] // DAY_MIN, last[long] // DAY_MIN
    changes = np.zeros(n_days + 1, dtype=np.int64)
    inside = first_day < n_days
    np.add.at(changes, first_day[inside], 1)
    np.add.at(changes, np.minimum(last_day[inside], n_days - 1) + 1, -1)
    begun: Flags = np.cumsum(changes[:-1]) > 0
    return begun


def begins_at(spans: Ints, clear_min: int, *, n_hours: int) -> Flags:
    """True for each full hour from which on so many minutes in a row are clear, (n_hours,)."""
    minute = np.arange(n_hours, dtype=np.int64) * HOUR_MIN
    if not len(spans):
        return np.zeros(n_hours, dtype=bool)
    k = np.searchsorted(spans[:, 0], minute, side="right") - 1
    clear: Flags = (k >= 0) & (spans[np.maximum(k, 0), 1] >= minute + clear_min)
    return clear


def calm_days(years: Sequence[OpenYears], *, start: date) -> Iterator[CalmDays]:
    """Days with a calm window, by operation, band and month, from years measured by `calm_windows`."""
    _, months = months_from(start)
    for year in years:
        generated = year.generated[:, :MONTHS]
        p10, p90 = np.percentile(generated, (10, 90), axis=0)
        for m, month in enumerate(months):
            yield CalmDays(
                *year.where(month),
                shift_days=float(year.calendar[m]),
                record_days=float(year.record[m]),
                generated_days=float(generated[:, m].mean()),
                generated_p10_days=float(p10[m]),
                generated_p90_days=float(p90[m]),
            )


def calm_hours(years: Sequence[OpenYears], *, start: date) -> Iterator[CalmHours]:
    """The same by the hour of the clock; hours at which the calendar never leaves room are left out."""
    _, months = months_from(start)
    for year in years:
        calendar, record = (_by_hour(part) for part in (year.calendar, year.record))
        generated = _by_hour(year.generated.mean(axis=0))
        for m, month in enumerate(months):
            for hour in np.flatnonzero(calendar.sum(axis=0)).tolist():
                yield CalmHours(
                    *year.where(month),
                    begins_h=hour,
                    shift_days=float(calendar[m, hour]),
                    record_days=float(record[m, hour]),
                    generated_days=float(generated[m, hour]),
                )


def _by_hour(measured: Floats) -> Floats:
    return measured[MONTHS:].reshape(MONTHS, HOURS_A_DAY)
