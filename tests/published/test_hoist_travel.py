"""Hoist travel from standstill to standstill, against published times and the motion itself.

Oracle: R. D. Peters, Ideal lift kinematics, 1995, quoted in CIBSE Guide D (from memory); the times were
derived a second time from the motion. That derivation stands here too: the fastest symmetric motion within
rated speed, acceleration and jerk, its top speed found by bisection, and its path added up from its jerks.
"""

import math

import numpy as np
import pytest

from towerpace.draws import stream
from towerpace.plan.site.hoisting import travel_s


@pytest.mark.parametrize(
    ("jerk_m_s3", "seconds"),
    [(None, (2.8284, 4.8990, 7.0000, 63.0000)), (0.6, (3.7820, 5.8027, 7.8333, 63.8333))],
)
def test_a_hoist_of_1_5_m_s_takes_the_published_times(jerk_m_s3, seconds, stand):
    got = [travel_s(m, speed_m_s=1.5, acceleration_m_s2=0.5, jerk_m_s3=jerk_m_s3) for m in (1, 3, 6, 90)]
    jerk = "no limit of jerk" if jerk_m_s3 is None else f"jerk {jerk_m_s3} m/s3"
    check = f"1, 3, 6 and 90 m at 1.5 m/s, 0.5 m/s2, {jerk} [s]"
    stand(check, "Peters 1995, CIBSE Guide D", expected=seconds, got=got, within=5e-5)


def test_a_hoist_of_2_5_m_s_takes_the_published_times(stand):
    got = [travel_s(m, speed_m_s=2.5, acceleration_m_s2=0.8, jerk_m_s3=1.2) for m in (3.3, 33)]
    check = "3.3 and 33 m at 2.5 m/s, 0.8 m/s2, jerk 1.2 m/s3 [s]"
    stand(check, "Peters 1995, CIBSE Guide D", expected=(4.7830, 16.9917), got=got, within=5e-5)


def ramp_s(top_m_s, *, a, j):
    """Ramp of the jerk and time at full acceleration on the way to a top speed. [s]"""
    ramp = min(a / j, math.sqrt(top_m_s / j))
    return ramp, top_m_s / (j * ramp) - ramp


def fastest_s(distance_m, *, v, a, j):
    """Time of the motion whose top speed is found by bisection. [s]"""

    def both_ramps(top):
        ramp, full = ramp_s(top, a=a, j=j)
        return 2 * (2 * ramp + full)

    low, high = 0.0, v
    if both_ramps(v) / 2 * v <= distance_m:
        return both_ramps(v) + (distance_m - both_ramps(v) / 2 * v) / v
    for _ in range(200):
        top = (low + high) / 2
        low, high = (top, high) if both_ramps(top) / 2 * top < distance_m else (low, top)
    return both_ramps(low)


def test_every_travel_takes_the_time_of_the_fastest_motion():
    """500 hoists and heights, among them those that never reach the rated acceleration or speed."""
    rng = stream(71, 0, "hoists")
    for d, v, a, j in np.exp(rng.uniform(-2.5, 2.5, (500, 4))):
        got = travel_s(d, speed_m_s=v, acceleration_m_s2=a, jerk_m_s3=j)
        assert got == pytest.approx(fastest_s(d, v=v, a=a, j=j), rel=1e-9)


def test_the_path_of_the_motion_adds_up_to_the_height():
    """33 m at 2.5 m/s, 0.8 m/s2, 1.2 m/s3: jerks integrated in 200,000 steps."""
    seconds = travel_s(33, speed_m_s=2.5, acceleration_m_s2=0.8, jerk_m_s3=1.2)
    ramp, full = ramp_s(2.5, a=0.8, j=1.2)
    cruise = seconds - 2 * (2 * ramp + full)
    edges = np.cumsum([ramp, full, ramp, cruise, ramp, full, ramp])
    jerks = np.array([1.2, 0, -1.2, 0, -1.2, 0, 1.2, 0])
    steps = 200_000
    step = seconds / steps
    times = (np.arange(steps) + 0.5) * step
    acceleration = np.cumsum(jerks[np.searchsorted(edges, times)]) * step
    speed = np.cumsum(acceleration) * step
    assert speed[-1] == pytest.approx(0, abs=5e-4)
    assert speed.max() == pytest.approx(2.5, abs=5e-4)
    assert speed.sum() * step == pytest.approx(33, rel=2e-4)


def test_a_very_stiff_hoist_needs_no_time_for_jerk():
    soft = travel_s(40, speed_m_s=1.5, acceleration_m_s2=0.5, jerk_m_s3=1e7)
    assert soft == pytest.approx(travel_s(40, speed_m_s=1.5, acceleration_m_s2=0.5), abs=1e-6)


@pytest.mark.parametrize(
    ("distance_m", "speed_m_s", "acceleration_m_s2", "jerk_m_s3"),
    [(-1, 1, 1, None), (1, 0, 1, None), (1, 1, -1, None), (1, 1, 1, 0)],
)
def test_impossible_hoists_are_refused(distance_m, speed_m_s, acceleration_m_s2, jerk_m_s3):
    with pytest.raises(ValueError, match="must be >"):
        travel_s(distance_m, speed_m_s=speed_m_s, acceleration_m_s2=acceleration_m_s2, jerk_m_s3=jerk_m_s3)
