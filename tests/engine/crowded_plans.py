"""Random plans in which many steps wait for one unit of one pool, near the ends of short shifts."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from support.dice import Dice
from support.random_plans import Case
from towerpace import Give, Plan, Pool, Step, Window
from towerpace.climate.hours import Hours
from towerpace.climate.limits import HourLimit
from towerpace.draws import Draw

SMALL = (0, 0, 1, 1, 2, 2, 3, 4, 5, 7, 12)
DATES = (0, 0, 0, 2, 5, 9, 14, 20, 33)


def _windows(dice: Dice, unit):
    """One to three windows of short shifts, some of which touch; in weather they close in the middle."""
    made = []
    for k in range(dice.whole(1, 3)):
        minute, shifts = dice.whole(0, 6), []
        for _ in range(dice.whole(1, 9)):
            length = dice.whole(1, 8)
            shifts.append((minute * unit, (minute + length) * unit))
            minute += length + dice.of([0, 1, 2, 5, 9])
        limits = [_limit(dice) for _ in range(dice.whole(0, 2) if unit > 1 else 0)]
        stops = sorted({dice.whole(0, 40 * unit) for _ in range(dice.whole(0, 4))})
        stops = list(zip(stops[0::2], stops[1::2], strict=False)) if dice.coin() else []
        made.append(Window(f"w{k}", shifts, limits=limits, stops=stops))
    return made


def _limit(dice: Dice):
    variable = dice.of(["gust", "rain"])
    restart = dice.of([0, 10, 60, 70])
    return HourLimit(variable, variable, above=10.0, below=None, ratio=1.0, restart_min=restart, cause="wind")


def _pools(dice: Dice):
    order = dice.of(["rank", "rank", "rank", "first come"])
    made = [Pool(f"p{k}", dice.whole(0, 2), order=order) for k in range(dice.whole(1, 2))]
    if dice.coin():
        made.append(Pool("crane", 2, order=order, at=["x", "y"], moves={("x", "y"): 2, ("y", "x"): 3}))
    return made


def _needs(dice: Dice, pools):
    """Mostly one unit of one pool; now and then two units, or two pools."""
    first = dice.of([pools[0], *pools])
    needs = {first.name: 1}
    more = dice.of([0, 0, 0, 0, 0, 1, 2])
    if more == 1 and first.units == 2 and first.at is None:
        needs[first.name] = 2
    elif more == 2:
        needs[dice.of(pools).name] = 1
    return needs


def _arrival(dice: Dice, name, *, pools, unit):
    """A step that brings a unit, at any minute."""
    return Step(name, date=unit * dice.of(DATES) + dice.whole(0, 15), gives=[_give(dice, pools)])


def _give(dice: Dice, pools):
    return Give(dice.of([p for p in pools if p.at is None]).name)


def _user(dice: Dice, name, *, pools, windows, unit):
    """A step that needs something: mostly in mode "start", with minutes that fit into few shifts."""
    window = dice.of([None, *windows, *windows, *windows])
    mode = "always" if window is None else dice.of(["start", "start", "start", "work"])
    longest = 0 if window is None else max(b - a for a, b in window.shifts)
    return Step(
        name,
        date=unit * dice.of(DATES),
        rank=dice.whole(0, 9),
        needs=_needs(dice, pools),
        gives=[_give(dice, pools)] if dice.whole(0, 7) == 0 else [],
        window=None if window is None else window.name,
        mode=mode,
        expected=min(unit * dice.whole(0, 8), longest),
        place=dice.of([None, "x", "y"]),
        skip=dice.of([None] * 9 + ["f"]),
    )


def crowded(dice: Dice) -> Case:
    """A plan and a draw that fits it."""
    unit = dice.of([1, 1, 20])
    windows, pools = _windows(dice, unit), _pools(dice)
    made = []
    for k in range(2 * dice.size):
        if dice.whole(0, 9) == 0:
            step = _arrival(dice, f"s{k}", pools=pools, unit=unit)
        else:
            step = _user(dice, f"s{k}", pools=pools, windows=windows, unit=unit)
        if k and dice.whole(0, 3) == 0:
            step = replace(step, after=[f"s{dice.whole(0, k - 1)}"])
        made.append(step)
    empty = [pool.name for pool in pools if pool.units == 0]
    made += [Step(f"{name} comes", date=dice.whole(0, 9), gives=[Give(name)]) for name in empty]
    plan = Plan(made, pools=pools, windows=windows, horizon=unit * dice.of([30, 90, 200]))
    work = np.array([unit * dice.of(SMALL) + dice.of([0, 0, 1]) for _ in made], dtype=np.int64)
    skip = (plan.flag >= 0) & dice.coin()
    hours = _hours(dice) if any(w.limits for w in windows) else None
    return plan, Draw(work, plan.date, skip, hours)


def _hours(dice: Dice):
    n = dice.whole(1, 30)
    gust, rain = (np.array([dice.of([5.0, 5.0, 14.0]) for _ in range(n)]) for _ in range(2))
    return Hours(gust, gust, rain_mm=rain)
