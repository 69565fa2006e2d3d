"""Weather of a project dealt from a record: which day of the record each day of the project gets.

Two ways. Blocks: runs of whole days from around the same season of any record year, so that spells,
nights and what goes together stay real, while the order of the weeks is chance. Replay: the record as it
came, without chance and without splices inside it.

A project day is matched to the 365 days of a record year by its month and day. On 29 February, which the
record has not, the running index goes on as it is: that day gets the row of 1 March.
"""

from datetime import date
from functools import lru_cache

import numpy as np

from towerpace.units import Floats, Ints

Days = Ints

DAYS_A_YEAR = 365
_MARCH_1 = 59  # day of a year of 365 days, from 0


@lru_cache(maxsize=16)
def days_of_year(n_days: int, *, first_day: date) -> Days:
    """Day of the 365-day year of each project day, 29 February as 1 March, from 0, shape (n_days,)."""
    days = np.datetime64(first_day, "D") + np.arange(n_days)
    years = days.astype("datetime64[Y]")
    in_year = (days - years.astype("datetime64[D]")).astype(np.int64)
    ends = (years + np.timedelta64(1, "Y")).astype("datetime64[D]")
    length = (ends - years.astype("datetime64[D]")).astype(np.int64)
    after_leap_day = (length > DAYS_A_YEAR) & (in_year > _MARCH_1)
    of_year: Days = in_year - after_leap_day
    of_year.setflags(write=False)  # every trial reads the same days
    return of_year


def block_rows(
    n_days: int,
    *,
    first_day: date,
    years: int,
    block_days: int,
    season_days: int,
    rng: np.random.Generator,
) -> Days:
    """Day of the record for each project day, drawn in blocks of consecutive days, shape (n_days,).

    Parameters
    ----------
    n_days
        Days of the project.
    first_day
        Its first day.
    years
        Years of the record; row 365 y + d is day d of year y.
    block_days
        Length of a block. [days]
    season_days
        A block begins at most so many days before or after its own day of the year. [days]
    rng
        A generator for this purpose alone. Two numbers are taken for each block in turn, so a longer
        project gets the same weather on the days it shares with a shorter one.

    Raises
    ------
    ValueError
        If a count is out of range.

    Notes
    -----
    For each block: begin s = (day of the year + U{-w..w}) mod 365 in a year y = U{0..years-1}, then rows
    365 y + s + j, running on into the next record year and from the last into the first. Block bootstrap
    of Künsch (1989, Annals of Statistics 17:1217) with the moving season window of Rajagopalan & Lall
    (1999, Water Resources Research 35:3089).
    """
    if n_days < 1 or years < 1 or block_days < 1:
        raise ValueError(
            f"n_days, years and block_days must be at least 1, got {n_days}, {years}, {block_days}"
        )
    if not 0 <= season_days <= DAYS_A_YEAR // 2:
        raise ValueError(f"season_days must be from 0 to {DAYS_A_YEAR // 2}, got {season_days}")
    n_blocks = -(-n_days // block_days)
    chance = rng.random((n_blocks, 2))
    shift = np.floor(chance[:, 0] * (2 * season_days + 1)).astype(np.int64) - season_days
    year = np.floor(chance[:, 1] * years).astype(np.int64)
    own_day = days_of_year(n_days, first_day=first_day)[::block_days]
    begin = DAYS_A_YEAR * year + (own_day + shift) % DAYS_A_YEAR
    return _blocks(DAYS_A_YEAR * years, block_days)[begin].reshape(-1)[:n_days]


@lru_cache(maxsize=16)
def _blocks(n_rows: int, block_days: int) -> Days:
    """Rows of the block that begins on each day of the record, the first following the last again.

    (n_rows, block_days).
    """
    rows = np.arange(n_rows + block_days - 1) % n_rows
    return np.lib.stride_tricks.sliding_window_view(rows, block_days)


def replay_rows(n_days: int, *, first_day: date, years: int, start_year_index: int) -> Days:
    """Day of the record for each project day when the record is played as it came, shape (n_days,).

    Parameters
    ----------
    n_days, first_day, years
        As for `block_rows`.
    start_year_index
        Record year in which the project begins, from 0.

    Raises
    ------
    ValueError
        If a count is out of range.

    Notes
    -----
    From the project's day of the year in that record year the rows run on without a splice, from the end
    of the record to its beginning. Each 29 February passed puts the record one day ahead of the calendar.
    """
    if n_days < 1 or not 0 <= start_year_index < years:
        raise ValueError(
            "n_days must be at least 1 and start_year_index from 0 to years - 1, "
            f"got {n_days}, {start_year_index} of {years}"
        )
    begin = DAYS_A_YEAR * start_year_index + days_of_year(1, first_day=first_day)[0]
    rows: Days = (begin + np.arange(n_days)) % (DAYS_A_YEAR * years)
    return rows


def year_factors(n_days: int, *, sd: float, rng: np.random.Generator) -> Floats:
    """Factor on the wind of each project day, one draw for each 365 days from the start, shape (n_days,). [-]

    Parameters
    ----------
    n_days
        Days of the project.
    sd
        Standard deviation s of the logarithm; 0 leaves the wind as recorded. [-]
    rng
        A generator for this purpose alone; one number is taken for each year in turn.

    Raises
    ------
    ValueError
        If `sd` is negative or `n_days` below 1.

    Notes
    -----
    exp(N(-s^2/2, s)): mean 1, standard deviation sqrt(exp(s^2) - 1). Resampling one year cannot show how
    windy years differ; this does. The years are counted from the project's first day, not the calendar's.
    """
    if n_days < 1 or not 0 <= sd < np.inf:
        raise ValueError(f"n_days must be at least 1 and sd at least 0, got {n_days}, {sd}")
    n_years = -(-n_days // DAYS_A_YEAR)
    factors = np.exp(sd * rng.standard_normal(n_years) - sd**2 / 2)
    return np.repeat(factors, DAYS_A_YEAR)[:n_days]
