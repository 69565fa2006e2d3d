"""Random plans in which many steps wait for one unit of one pool, near the ends of short shifts."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from hypothesis import strategies as st

from towerpace import Give, Plan, Pool, Step, Window
from towerpace.climate.hours import Hours
from towerpace.climate.limits import HourLimit
from towerpace.draws import Draw

SMALL = st.sampled_from([0, 0, 1, 1, 2, 2, 3, 4, 5, 7, 12])
DATES = st.sampled_from([0, 0, 0, 2, 5, 9, 14, 20, 33])


@st.composite
def _windows(draw, unit):
    """One to three windows of short shifts, some of which touch; in weather they close in the middle."""
    made = []
    for k in range(draw(st.integers(1, 3))):
        minute, shifts = draw(st.integers(0, 6)), []
        for _ in range(draw(st.integers(1, 9))):
            length = draw(st.integers(1, 8))
            shifts.append((minute * unit, (minute + length) * unit))
            minute += length + draw(st.sampled_from([0, 1, 2, 5, 9]))
        limits = [_limit(draw) for _ in range(draw(st.integers(0, 2)) if unit > 1 else 0)]
        stops = sorted(draw(st.sets(st.integers(0, 40 * unit), max_size=4)))
        stops = list(zip(stops[0::2], stops[1::2], strict=False)) if draw(st.booleans()) else []
        made.append(Window(f"w{k}", shifts, limits=limits, stops=stops))
    return made


def _limit(draw):
    variable = draw(st.sampled_from(["gust", "rain"]))
    restart = draw(st.sampled_from([0, 10, 60, 70]))
    return HourLimit(variable, variable, above=10.0, below=None, ratio=1.0, restart_min=restart, cause="wind")


@st.composite
def _pools(draw):
    order = draw(st.sampled_from(["rank", "rank", "rank", "first come"]))
    made = [Pool(f"p{k}", draw(st.integers(0, 2)), order=order) for k in range(draw(st.integers(1, 2)))]
    if draw(st.booleans()):
        made.append(Pool("crane", 2, order=order, at=["x", "y"], moves={("x", "y"): 2, ("y", "x"): 3}))
    return made


def _needs(draw, pools):
    """Mostly one unit of one pool; now and then two units, or two pools."""
    first = draw(st.sampled_from([pools[0], *pools]))
    needs = {first.name: 1}
    more = draw(st.sampled_from([0, 0, 0, 0, 0, 1, 2]))
    if more == 1 and first.units == 2 and first.at is None:
        needs[first.name] = 2
    elif more == 2:
        needs[draw(st.sampled_from(pools)).name] = 1
    return needs


def _arrival(draw, name, *, pools, unit):
    """A step that brings a unit, at any minute."""
    return Step(name, date=unit * draw(DATES) + draw(st.integers(0, 15)), gives=[_give(draw, pools)])


def _give(draw, pools):
    return Give(draw(st.sampled_from([p for p in pools if p.at is None])).name)


def _user(draw, name, *, pools, windows, unit):
    """A step that needs something: mostly in mode "start", with minutes that fit into few shifts."""
    window = draw(st.sampled_from([None, *windows, *windows, *windows]))
    mode = "always" if window is None else draw(st.sampled_from(["start", "start", "start", "work"]))
    longest = 0 if window is None else max(b - a for a, b in window.shifts)
    return Step(
        name,
        date=unit * draw(DATES),
        rank=draw(st.integers(0, 9)),
        needs=_needs(draw, pools),
        gives=[_give(draw, pools)] if draw(st.integers(0, 7)) == 0 else [],
        window=None if window is None else window.name,
        mode=mode,
        expected=min(unit * draw(st.integers(0, 8)), longest),
        place=draw(st.sampled_from([None, "x", "y"])),
        skip=draw(st.sampled_from([None] * 9 + ["f"])),
    )


@st.composite
def crowded(draw):
    """A plan and a draw that fits it."""
    unit = draw(st.sampled_from([1, 1, 20]))
    windows, pools = draw(_windows(unit)), draw(_pools())
    made = []
    for k in range(draw(st.integers(2, 24))):
        if draw(st.integers(0, 9)) == 0:
            step = _arrival(draw, f"s{k}", pools=pools, unit=unit)
        else:
            step = _user(draw, f"s{k}", pools=pools, windows=windows, unit=unit)
        if k and draw(st.integers(0, 3)) == 0:
            step = replace(step, after=[f"s{draw(st.integers(0, k - 1))}"])
        made.append(step)
    empty = [pool.name for pool in pools if pool.units == 0]
    made += [Step(f"{name} comes", date=draw(st.integers(0, 9)), gives=[Give(name)]) for name in empty]
    plan = Plan(made, pools=pools, windows=windows, horizon=unit * draw(st.sampled_from([30, 90, 200])))
    work = np.array([unit * draw(SMALL) + draw(st.sampled_from([0, 0, 1])) for _ in made], dtype=np.int64)
    skip = (plan.flag >= 0) & draw(st.booleans())
    hours = _hours(draw) if any(w.limits for w in windows) else None
    return plan, Draw(work, plan.date, skip, hours)


def _hours(draw):
    n = draw(st.integers(1, 30))
    values = st.lists(st.sampled_from([5.0, 5.0, 14.0]), min_size=n, max_size=n)
    gust, rain = (np.array(draw(values)) for _ in range(2))
    return Hours(gust, gust, rain_mm=rain)
