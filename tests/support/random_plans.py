"""Random small plans with everything in them: lines, keeps, skips, positioned units, zero lengths."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np

from support.dice import Dice
from towerpace import After, Give, Plan, Pool, Step, Window
from towerpace.draws import Draw
from towerpace.plan.parts import PlanError

PLACES = ("a", "b", "c")
MOVES = {(x, y): 2 + abs(i - j) for i, x in enumerate(PLACES) for j, y in enumerate(PLACES) if i != j}
MINUTES = (0, 0, 1, 1, 2, 3, 5, 8)

Case = tuple[Plan, Draw]


def random_case(dice: Dice) -> Case:
    """A plan and a draw that fits it."""
    return _case(dice, lags=False)


def random_case_with_lags(dice: Dice) -> Case:
    """The same with lags of all four kinds between the steps."""
    return _case(dice, lags=True)


def _case(dice: Dice, *, lags: bool) -> Case:
    windows, pools = _windows(dice), _pools(dice)
    steps = _with_holds(dice, _steps(dice, pools=pools, windows=windows, lags=lags))
    horizon = dice.of((40, 130, 200))
    try:
        plan = Plan(steps, pools=pools, windows=windows, horizon=horizon)
    except PlanError:
        plan = Plan([_harmless(step) for step in steps], pools=pools, windows=windows, horizon=horizon)
    work = np.array([dice.of(MINUTES) for _ in range(plan.n)], dtype=np.int64)
    work = np.where(plan.work == 0, 0, work) if lags else work
    flags = np.array([dice.coin() for _ in plan.flags], dtype=bool)
    skip = np.where(plan.flag >= 0, flags[plan.flag] if len(flags) else False, False)
    return plan, Draw(work, plan.date, skip)


def _windows(dice: Dice) -> list[Window]:
    """Windows of short shifts with stops in them."""
    windows = []
    for name in ("day", "lift")[: dice.whole(0, 2)]:
        edges = _minutes(dice, least=4, most=14)
        shifts = list(pairwise(edges)) if dice.coin() else _pairs(edges)  # shifts that touch, or gaps
        windows.append(Window(name, shifts, stops=_pairs(_minutes(dice, least=0, most=6))))
    return windows


def _minutes(dice: Dice, *, least: int, most: int) -> list[int]:
    """Different minutes in order, often close to each other and often far apart."""
    count, last = dice.whole(least, most), dice.of((15, 40, 120))
    chosen: set[int] = set()
    while len(chosen) < count:
        chosen.add(dice.whole(0, last))
    return sorted(chosen)


def _pairs(edges: list[int]) -> list[tuple[int, int]]:
    return list(zip(edges[0::2], edges[1::2], strict=False))


def _pools(dice: Dice) -> list[Pool]:
    order, line = dice.of(("rank", "first come")), dice.of((None, "gate"))
    pools = [
        Pool(f"p{k}", dice.whole(1, 3), order=order, line=line if dice.coin() else None)
        for k in range(dice.whole(1, 4))
    ]
    if dice.coin():
        at = [dice.of(PLACES) for _ in range(dice.whole(1, 3))]
        pools.append(Pool("crane", len(at), order=order, at=at, moves=MOVES))
    return pools


def _needs(dice: Dice, pools: list[Pool]) -> dict[str, int]:
    chosen = dice.some(pools, most=3)
    return {pool.name: 1 if pool.at else dice.whole(1, pool.units) for pool in chosen}


def _steps(dice: Dice, *, pools: list[Pool], windows: list[Window], lags: bool) -> list[Step]:
    steps = []
    for k in range(dice.size):
        before = dice.some(range(k), most=2)
        window = dice.of((None, *(w.name for w in windows)))
        steps.append(
            Step(
                f"s{k}",
                work=dice.of(MINUTES),
                after=[_after(dice, f"s{i}", lags=lags) for i in before],
                needs=_needs(dice, pools),
                window=window,
                mode="always" if window is None else dice.of(("start", "work", "unbroken")),
                date=dice.of((0, 0, 0, 3, 7)),
                rank=dice.whole(0, 2),
                place=dice.of((None, *PLACES)),
                skip=dice.of((None, None, None, "f", "g")),
                expected=dice.of((None, None, 1, 4)),
                optional=dice.coin(),
            )
        )
    return steps


def _after(dice: Dice, name: str, *, lags: bool) -> str | After:
    if not lags or dice.coin():
        return name
    return After(name, dice.whole(0, 4), dice.of(("FS", "SS", "FF", "SF")))


def _with_holds(dice: Dice, steps: list[Step]) -> list[Step]:
    """Let some steps keep a pool for a direct successor under the same flag to give back."""
    for k, step in enumerate(steps):
        if not step.needs or not dice.coin():
            continue
        heirs = [j for j, s in enumerate(steps) if step.name in s.after and s.skip == step.skip]
        if not heirs:
            continue
        pool, heir = min(step.needs), steps[heirs[0]]
        steps[k] = replace(step, keeps=(pool,))
        gives = (*heir.gives, Give(pool, step.needs[pool], step.name))
        steps[heirs[0]] = replace(heir, gives=gives)
    return steps


def _harmless(step: Step) -> Step:
    """The same step without what the builder may refuse."""
    return replace(
        step,
        keeps=(),
        gives=(),
        after=tuple(a for a in step.after if isinstance(a, str)),
        mode=step.mode if step.mode == "always" else "work",
        needs=dict(list(step.needs.items())[:1]),
    )
