"""Random small plans with everything in them: lines, keeps, skips, positioned units, zero lengths."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from hypothesis import strategies as st

from towerpace import After, Give, Plan, Pool, Step, Window
from towerpace.draws import Draw
from towerpace.plan.parts import PlanError

PLACES = ("a", "b", "c")
MOVES = {(x, y): 2 + abs(i - j) for i, x in enumerate(PLACES) for j, y in enumerate(PLACES) if i != j}
MINUTES = st.sampled_from([0, 0, 1, 1, 2, 3, 5, 8])


@st.composite
def windows(draw):
    """Windows of short shifts with stops in them."""
    made = []
    for name in ("day", "lift")[: draw(st.integers(0, 2))]:
        edges = sorted(draw(st.sets(st.integers(0, 120), min_size=4, max_size=14)))
        shifts = list(zip(edges[0::2], edges[1::2], strict=False))
        if draw(st.booleans()):  # shifts that touch
            shifts = list(pairwise(edges))
        stops = sorted(draw(st.sets(st.integers(0, 120), min_size=0, max_size=6)))
        spans = list(zip(stops[0::2], stops[1::2], strict=False))
        made.append(Window(name, shifts, stops=spans))
    return made


@st.composite
def pools(draw):
    made = []
    order = draw(st.sampled_from(["rank", "first come"]))
    line = draw(st.sampled_from([None, "gate"]))
    for k in range(draw(st.integers(1, 4))):
        units = draw(st.integers(1, 3))
        made.append(Pool(f"p{k}", units, order=order, line=line if draw(st.booleans()) else None))
    if draw(st.booleans()):
        at = draw(st.lists(st.sampled_from(PLACES), min_size=1, max_size=3))
        made.append(Pool("crane", len(at), order=order, at=at, moves=MOVES))
    return made


def _needs(draw, available):
    chosen = draw(st.lists(st.sampled_from(available), max_size=3, unique_by=lambda p: p.name))
    return {p.name: 1 if p.at else draw(st.integers(1, p.units)) for p in chosen}


@st.composite
def steps(draw, *, available, closures, lags):
    made = []
    for k in range(draw(st.integers(1, 12))):
        before = draw(st.lists(st.integers(0, k - 1), max_size=2, unique=True)) if k else []
        after = [_after(draw, f"s{i}", lags=lags) for i in before]
        window = draw(st.sampled_from([None, *(w.name for w in closures)]))
        mode = "always" if window is None else draw(st.sampled_from(["start", "work", "unbroken"]))
        made.append(
            Step(
                f"s{k}",
                work=draw(MINUTES),
                after=after,
                needs=_needs(draw, available),
                window=window,
                mode=mode,
                date=draw(st.sampled_from([0, 0, 0, 3, 7])),
                rank=draw(st.integers(0, 2)),
                place=draw(st.sampled_from([None, *PLACES])),
                skip=draw(st.sampled_from([None, None, None, "f", "g"])),
                expected=draw(st.sampled_from([None, None, 1, 4])),
                optional=draw(st.booleans()),
            )
        )
    return made


def _after(draw, name, *, lags):
    if not lags or draw(st.booleans()):
        return name
    return After(name, draw(st.integers(0, 4)), draw(st.sampled_from(["FS", "SS", "FF", "SF"])))


@st.composite
def cases(draw, *, lags=False):
    """A plan and a draw that fits it."""
    closures = draw(windows())
    available = draw(pools())
    made = draw(steps(available=available, closures=closures, lags=lags))
    made = _with_holds(draw, made)
    horizon = draw(st.sampled_from([40, 130, 200]))
    try:
        plan = Plan(made, pools=available, windows=closures, horizon=horizon)
    except PlanError:
        plan = Plan([_harmless(s) for s in made], pools=available, windows=closures, horizon=horizon)
    work = np.array([draw(MINUTES) for _ in range(plan.n)], dtype=np.int64)
    work = np.where(plan.work == 0, 0, work) if lags else work
    flags = np.array([draw(st.booleans()) for _ in plan.flags], dtype=bool)
    skip = np.where(plan.flag >= 0, flags[plan.flag] if len(flags) else False, False)
    return plan, Draw(work, plan.date, skip)


def _with_holds(draw, made):
    """Let some steps keep a pool for a direct successor under the same flag to give back."""
    for k, step in enumerate(made):
        if not step.needs or not draw(st.booleans()):
            continue
        heirs = [j for j, s in enumerate(made) if step.name in s.after and s.skip == step.skip]
        if not heirs:
            continue
        pool = sorted(step.needs)[0]
        heir = made[heirs[0]]
        made[k] = _changed(step, keeps=(pool,))
        made[heirs[0]] = _changed(heir, gives=(*heir.gives, Give(pool, step.needs[pool], step.name)))
    return made


def _harmless(step):
    """The same step without what the builder may refuse."""
    return _changed(
        step,
        keeps=(),
        gives=(),
        after=tuple(a for a in step.after if isinstance(a, str)),
        mode=step.mode if step.mode == "always" else "work",
        needs=dict(list(step.needs.items())[:1]),
    )


def _changed(step, **changes):
    from dataclasses import replace

    return replace(step, **changes)
