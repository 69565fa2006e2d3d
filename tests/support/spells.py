"""How much is stopped, how often and for how long: measures of hourly stops.

All take one truth value an hour from a first midnight. Spells are runs of stopped hours by day and night;
shares, stops and lost days look at work hours only.
"""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date

import numpy as np

from towerpace.climate.hours import HOURS_A_DAY, runs
from towerpace.units import Flags, Floats, Ints

MONTHS = 12


@dataclass(frozen=True)
class Spells:
    """Runs of stopped hours; all zero where nothing is stopped.

    Attributes
    ----------
    count
        Number of spells.
    mean_h, p90_h, longest_h
        Their mean length, 90th percentile (linear interpolation) and longest. [h]
    long_share
        Share of the stopped hours that lie in long spells. [-]
    """

    count: int
    mean_h: float
    p90_h: float
    longest_h: int
    long_share: float


def work_hours(n_days: int, *, first_day: date, weekdays: Collection[int], from_h: int, to_h: int) -> Flags:
    """True for the hours from `from_h` to before `to_h` on the given weekdays, shape (24 n_days,).

    Parameters
    ----------
    weekdays
        0 for Monday to 6 for Sunday.
    """
    weekday = (first_day.weekday() + np.arange(n_days)) % 7
    hour = np.arange(HOURS_A_DAY)
    open_day = np.isin(weekday, list(weekdays))
    return np.outer(open_day, (hour >= from_h) & (hour < to_h)).reshape(-1)


def months_of(n_days: int, *, first_day: date) -> Ints:
    """Month of each day, 0 for January, shape (n_days,)."""
    days = np.datetime64(first_day, "D") + np.arange(n_days)
    return days.astype("datetime64[M]").astype(np.int64) % MONTHS


def spell_lengths_h(stopped: Flags) -> Ints:
    """Lengths of the runs of stopped hours in order, cut off at both ends, shape (n_spells,). [h]"""
    return np.diff(runs(stopped), axis=1)[:, 0]


def spells(stopped: Flags, *, long_h: int) -> Spells:
    """Number and lengths of the runs of stopped hours; a spell is long from `long_h` hours on."""
    lengths_h = spell_lengths_h(stopped)
    if not len(lengths_h):
        return Spells(0, 0.0, 0.0, 0, 0.0)
    return Spells(
        count=len(lengths_h),
        mean_h=float(lengths_h.mean()),
        p90_h=float(np.percentile(lengths_h, 90)),
        longest_h=int(lengths_h.max()),
        long_share=float(lengths_h[lengths_h >= long_h].sum() / lengths_h.sum()),
    )


def stopped_share(stopped: Flags, work: Flags) -> float:
    """Share of the work hours that are stopped. [-]"""
    return float(stopped[work].mean())


def stopped_share_by_month(stopped: Flags, work: Flags, *, months: Ints) -> Floats:
    """Share of the work hours of each month that are stopped, NaN for a month without any, shape (12,). [-]

    Parameters
    ----------
    months
        Month of each day, 0 for January, shape (n_days,).
    """
    month = np.repeat(months, HOURS_A_DAY)[work]
    hours = np.bincount(month, minlength=MONTHS)
    bad = np.bincount(month, weights=stopped[work], minlength=MONTHS)
    shares: Floats = np.divide(bad, hours, out=np.full(MONTHS, np.nan), where=hours > 0)
    return shares


def stops_per_week(stopped: Flags, work: Flags, *, days_a_week: int) -> float:
    """Stops for each so many working days.

    A stop is a run of stopped work hours within a day; one that lasts into the next day counts on both,
    since each morning the crew finds itself stopped.
    """
    bad = (stopped & work).reshape(-1, HOURS_A_DAY)
    onsets = np.count_nonzero(bad[:, 1:] & ~bad[:, :-1]) + np.count_nonzero(bad[:, 0])
    work_days = np.count_nonzero(work.reshape(-1, HOURS_A_DAY).any(axis=1))
    return float(onsets / work_days * days_a_week)


def days_lost(stopped: Flags, work: Flags, *, from_h: int) -> Flags:
    """True for each day with at least `from_h` stopped work hours, shape (n_days,)."""
    bad_h: Ints = (stopped & work).reshape(-1, HOURS_A_DAY).sum(axis=1)
    return np.greater_equal(bad_h, from_h)


def days_by_month(days: Flags, *, months: Ints) -> Ints:
    """Number of days marked in each month, shape (12,)."""
    return np.bincount(months[days], minlength=MONTHS)
