"""How much windy years differ: the year factor measured on a record of several years."""

import math
from dataclasses import dataclass

import numpy as np

from towerpace.climate.generate import DAYS_A_YEAR
from towerpace.climate.hours import HOURS_A_DAY
from towerpace.climate.record import Record
from towerpace.units import Floats


@dataclass(frozen=True, slots=True)
class YearFactor:
    """What a record says of the year factor.

    Parameters
    ----------
    years : int
        Years of the record.
    measured_sd : float
        Standard deviation of the logarithm of the annual mean wind. [-]
    low, high : float
        Its 90 % interval, for annual means that scatter normally. [-]
    blocks_sd : float
        What blocks of the record give a year without any factor. [-]
    year_factor_sd : float
        What is left for the factor. [-]
    """

    years: int
    measured_sd: float
    low: float
    high: float
    blocks_sd: float
    year_factor_sd: float


def year_factor_of(record: Record, *, block_days: int = 7, season_days: int = 30) -> YearFactor:
    """The year factor that makes generated years differ as the years of the record do.

    Parameters
    ----------
    record
        At least two years.
    block_days, season_days
        Of the generator, as in the scenario. [days]

    Raises
    ------
    ValueError
        If the record has one year.

    Notes
    -----
    s^2 = (1 + 1/n) m^2 - b^2, at least 0. m is the standard deviation of the logarithm of the n annual means;
    1 + 1/n, since a year to come differs from the mean of n years by its own deviation and that of the mean.
    b is what the blocks already scatter: the annual mean is a sum of independent blocks, each drawn evenly
    from the days within the season window of all years, so that its variance is that of those block means.
    The interval of m is that of chi squared with n - 1 degrees of freedom.
    """
    n = len(record.years)
    if n < 2:
        raise ValueError("a record of one year says nothing of how years differ")
    from scipy.stats import chi2

    daily_m_s = record.speed_m_s.reshape(-1, HOURS_A_DAY).mean(axis=1)
    measured = float(np.std(np.log(daily_m_s.reshape(n, -1).mean(axis=1)), ddof=1))
    low, high = (measured * math.sqrt((n - 1) / chi2.ppf(q, n - 1)) for q in (0.95, 0.05))
    blocks = blocks_sd(daily_m_s, block_days=block_days, season_days=season_days)
    left = (1 + 1 / n) * measured**2 - blocks**2
    return YearFactor(n, measured, float(low), float(high), blocks, math.sqrt(max(0.0, left)))


def blocks_sd(daily_m_s: Floats, *, block_days: int, season_days: int) -> float:
    """Standard deviation of a generated year's mean wind, over its mean, without any factor. [-]

    daily_m_s : daily mean wind of whole years in order, shape (365 n_years,). [m/s]
    """
    n_days = len(daily_m_s)
    variance = mean = 0.0
    for start in range(0, DAYS_A_YEAR, block_days):
        length = min(block_days, DAYS_A_YEAR - start)
        begins = np.arange(start - season_days, start + season_days + 1) % DAYS_A_YEAR
        places = begins[:, np.newaxis] + DAYS_A_YEAR * np.arange(n_days // DAYS_A_YEAR)
        days = (places.reshape(-1, 1) + np.arange(length)) % n_days
        of_block = daily_m_s[days].mean(axis=1)
        variance += (length / DAYS_A_YEAR) ** 2 * float(of_block.var())
        mean += length / DAYS_A_YEAR * float(of_block.mean())
    return math.sqrt(variance) / mean
