"""The Beaufort scale: the mean speeds at 10 m that its numbers stand for.

Rules for work at height are often said in Beaufort numbers. The scale is one of ten-minute means at 10 m in
open field; a number read as a gust, or as wind at the work, says something else.
"""

from __future__ import annotations

from bisect import bisect_right

# World Meteorological Organization, WMO-No. 306 and No. 8: least mean speed of each number [m/s], read in
# four secondary pages that agree.
LEAST_SPEED_M_S = (0.0, 0.3, 1.6, 3.4, 5.5, 8.0, 10.8, 13.9, 17.2, 20.8, 24.5, 28.5, 32.7)


def beaufort(speed_m_s: float) -> int:
    """Beaufort number of a mean speed at 10 m. [-]

    Raises `ValueError` for a negative speed or one that is no number.

    Notes
    -----
    The table steps by 0.1 m/s; a speed between two of its rows (5.45) has the lower number.

    >>> beaufort(12.5)
    6
    """
    if not speed_m_s >= 0:
        raise ValueError(f"speed_m_s: must be >= 0 m/s, got {speed_m_s}")
    return bisect_right(LEAST_SPEED_M_S, speed_m_s) - 1


def least_speed_m_s(number: int) -> float:
    """Least mean speed at 10 m of a Beaufort number. [m/s]

    Raises `ValueError` for a number outside 0 to 12.

    >>> least_speed_m_s(6)
    10.8
    """
    if number not in range(len(LEAST_SPEED_M_S)):
        raise ValueError(f"number: must be a whole number from 0 to 12, got {number}")
    return LEAST_SPEED_M_S[number]
