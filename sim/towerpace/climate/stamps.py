"""Time stamps of a weather record: every hour of whole calendar years once, in order.

29 February may be there or not; it is dropped, so that a day of the year is the same row in every year.
"""

import re
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from towerpace.climate.columns import TIME
from towerpace.climate.rows import FIRST_LINE, row_faults
from towerpace.faults import Fault
from towerpace.units import Flags

Hours = NDArray[np.datetime64]

_STAMP = re.compile(r"\d{4}-\d\d-\d\dT\d\d:00(:00)?")
_ROWS_A_YEAR = "8760 rows a year, or 8784 with 29 February"


def hours_of(stamps: Sequence[str]) -> Hours:
    """Stamps as hours, not-a-time where a stamp is no full hour of the calendar, shape (n_rows,)."""
    whole = [stamp if _STAMP.fullmatch(stamp) else "NaT" for stamp in stamps]
    try:
        return np.array(whole, dtype="datetime64[s]").astype("datetime64[h]")
    except ValueError:  # a day such as 30 February: look for it one by one
        return np.array([_hour(stamp) for stamp in whole], dtype="datetime64[h]")


def stamp_faults(stamps: Sequence[str], *, hours: Hours, file: str) -> list[Fault]:
    """Faults of the stamps: unreadable ones, gaps, repeats, steps back and years that are not whole.

    Parameters
    ----------
    hours
        The stamps as `hours_of` reads them, shape (n_rows,).
    """
    wrong = np.isnat(hours)
    unread = row_faults(
        np.flatnonzero(wrong),
        file=file,
        key=TIME,
        found=lambda i: stamps[i] or "a blank",
        allowed="a full hour of local standard time, as 2013-01-01T00:00",
    )
    return unread + _order_faults(hours, file=file) + _end_faults(hours, file=file)


def is_leap_day(hours: Hours) -> Flags:
    """True for the hours of 29 February, shape (n_rows,)."""
    months = hours.astype("datetime64[M]")
    day = (hours.astype("datetime64[D]") - months.astype("datetime64[D]")).astype(np.int64) + 1
    leap_day: Flags = (months.astype(np.int64) % 12 == 1) & (day == 29)
    return leap_day


def calendar_years(hours: Hours) -> tuple[int, ...]:
    """Calendar years that the hours span, in order."""
    first, last = hours[[0, -1]].astype("datetime64[Y]").astype(np.int64) + 1970
    return tuple(range(int(first), int(last) + 1))


def _hour(stamp: str) -> np.datetime64:
    try:
        return np.datetime64(stamp, "h")
    except ValueError:
        return np.datetime64("NaT", "h")


def _order_faults(hours: Hours, *, file: str) -> list[Fault]:
    step_h = np.diff(hours).astype(np.float64)
    step_h[np.isnat(hours[1:]) | np.isnat(hours[:-1])] = 1  # said already
    passes_leap_day = is_leap_day(hours[:-1] + np.timedelta64(1, "h")) & (step_h == 25)
    rows = np.flatnonzero((step_h != 1) & ~passes_leap_day) + 1
    return row_faults(
        rows,
        file=file,
        key=TIME,
        found=lambda i: f"{hours[i]}:00 after {hours[i - 1]}:00: {_step_text(int(step_h[i - 1]))}",
        allowed="every hour once, in order",
    )


def _step_text(step_h: int) -> str:
    if step_h == 0:
        return "the same hour again"
    if step_h < 0:
        return "out of order"
    missing = step_h - 1
    return f"{missing} hour{'s' if missing > 1 else ''} missing"


def _end_faults(hours: Hours, *, file: str) -> list[Fault]:
    faults = []
    first, last = hours[0], hours[-1]
    year_start, year_end = (
        first.astype("datetime64[Y]"),
        last.astype("datetime64[Y]") + np.timedelta64(1, "Y"),
    )
    if not np.isnat(first) and first != year_start:
        allowed = f"whole years: {_ROWS_A_YEAR}, from 1 January 00:00"
        faults.append(Fault(file, FIRST_LINE, TIME, f"a beginning at {first}:00", allowed, None))
    if not np.isnat(last) and last + np.timedelta64(1, "h") != year_end:
        allowed = f"whole years: {_ROWS_A_YEAR}, to 31 December 23:00"
        found = f"an end at {last}:00 after {len(hours)} rows"
        faults.append(Fault(file, len(hours) + FIRST_LINE - 1, TIME, found, allowed, None))
    return faults
