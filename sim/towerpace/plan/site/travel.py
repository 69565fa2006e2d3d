"""Travel time of a hoist over a height, from speed, acceleration and jerk.

Source: R. D. Peters (1995), Ideal lift kinematics, quoted in CIBSE Guide D (from memory); the values in
the examples were derived a second time from the motion itself.
"""

from __future__ import annotations

from math import sqrt


def travel_s(
    distance_m: float, *, speed_m_s: float, acceleration_m_s2: float, jerk_m_s3: float | None = None
) -> float:
    """Seconds from standstill to standstill over a distance. [s]

    distance_m : height difference, >= 0. [m]
    speed_m_s, acceleration_m_s2 : rated speed and acceleration, > 0. [m/s], [m/s2]
    jerk_m_s3 : rate of change of acceleration; None for a step in acceleration. [m/s3]

    Raises `ValueError` for a negative distance or a rating that is not positive.

    >>> round(travel_s(90, speed_m_s=1.5, acceleration_m_s2=0.5), 4)
    63.0
    >>> round(travel_s(90, speed_m_s=1.5, acceleration_m_s2=0.5, jerk_m_s3=0.6), 4)
    63.8333
    """
    d, v, a, j = distance_m, speed_m_s, acceleration_m_s2, jerk_m_s3
    if d < 0:
        raise ValueError(f"distance_m: must be >= 0 m, got {d}")
    if min(v, a, 1.0 if j is None else j) <= 0:
        raise ValueError(f"speed, acceleration and jerk must be > 0, got {v}, {a}, {j}")
    if d == 0:
        return 0.0
    if j is None:
        return d / v + v / a if d >= v**2 / a else 2 * sqrt(d / a)
    ramp = a / j
    if v < a * ramp:
        # The rated speed is reached before the rated acceleration: the ramp ends at sqrt(v / j).
        a, ramp = sqrt(v * j), sqrt(v / j)
    if d >= v * (v / a + ramp):
        return d / v + v / a + ramp
    if d >= 2 * a * ramp**2:
        return ramp + sqrt(4 * d / a + ramp**2)
    return float((32 * d / j) ** (1 / 3))
