"""Speeds reported in whole knots, spread over the knot that each of them stands for.

A limit that falls between two knots misreads a record in whole knots: 13 kt with a gust factor of 1.33 is
8.89 m/s, just under a limit of 9, so that nothing between 12.5 and 13.5 kt is ever stopped. Half a knot up
or down moves the stopped share of such a limit by nearly one point, and a small factor on the speeds of a
year would jump it. Calms stay calm.
"""

import numpy as np

from towerpace.climate.columns import KNOT_M_S
from towerpace.units import Floats

_SPEED, _GUST = 0, 1  # which of the two offsets of an hour
# A whole knot printed to the nearest mile an hour is at most half a mile an hour away from it (0.4345 kt).
_PRINTED_WITHIN_KNOTS = 0.44704 / 2 / KNOT_M_S + 1e-6


def whole_knot_share(speed_m_s: Floats) -> float:
    """Share of the speeds above zero that can be whole knots as printed in m/s, km/h, mph or knots. [-]"""
    speed_kt = speed_m_s[speed_m_s > 0] / KNOT_M_S
    if not len(speed_kt):
        return 1.0
    return float(np.mean(np.abs(speed_kt - np.round(speed_kt)) <= _PRINTED_WITHIN_KNOTS))


def spread_over_the_knot(speed_m_s: Floats, *, gust_m_s: Floats) -> tuple[Floats, Floats]:
    """Speeds and gusts moved from their whole knot by an even spread of half a knot either way. [m/s]

    Parameters
    ----------
    speed_m_s
        Mean speed of each hour in order, shape (n_hours,). [m/s]
    gust_m_s
        Gust of each hour, at least the speed, NaN where none was reported, shape (n_hours,). [m/s]

    Notes
    -----
    Values go back to the nearest whole knot first, since a source may have printed them in another unit
    (10 kt as 11 mph). The offset of an hour is a fixed function of its place in the record (two for each
    hour, one for the speed and one for the gust), the same in every run. A gust stays at or above its
    speed: one knot or more apart the two offsets cannot cross; on the same knot the gust takes the offset
    of its speed.
    """
    speed_kt, gust_kt = np.round(speed_m_s / KNOT_M_S), np.round(gust_m_s / KNOT_M_S)
    speed_offset_kt = _offsets(len(speed_kt), which=_SPEED)
    gust_offset_kt = np.where(gust_kt > speed_kt, _offsets(len(gust_kt), which=_GUST), speed_offset_kt)
    spread_speed_kt = np.where(speed_kt > 0, speed_kt + speed_offset_kt, 0.0)
    spread_gust_kt = np.where(gust_kt > 0, gust_kt + gust_offset_kt, gust_kt)
    return spread_speed_kt * KNOT_M_S, spread_gust_kt * KNOT_M_S


def _offsets(n_hours: int, *, which: int) -> Floats:
    """Offsets in [-1/2, 1/2) from the place of the hour alone, shape (n_hours,). [kt]

    Notes
    -----
    The mixing function of SplitMix64 over a counter (Steele, Lea & Flood 2014, Fast splittable
    pseudorandom number generators, OOPSLA, doi 10.1145/2660193.2660195; constants from memory). A golden
    ratio sequence would also be even, but ties each hour to the next one and so bends the spells.
    """
    z = (np.arange(n_hours, dtype=np.uint64) * np.uint64(2) + np.uint64(which + 1)) * np.uint64(
        0x9E3779B97F4A7C15
    )
    z = (z ^ (z >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    z = (z ^ (z >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    z = z ^ (z >> np.uint64(31))
    return (z >> np.uint64(11)).astype(np.float64) * 2.0**-53 - 0.5
