"""Both engines on the same trials: equal, or the first difference in words."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from towerpace.answers.prepare import Prepared
from towerpace.engine.diary import Diary
from towerpace.engine.fastest import fastest
from towerpace.engine.reference import run

STAMPS = ("ready", "started", "finished", "enabler")


def first_difference(
    ready: Prepared, *, trials: int, seed: int, on_done: Callable[[int], None] = lambda _: None
) -> str | None:
    """Play trials on the reference and on the fastest engine; None if all four stamps of every step agree."""
    other = fastest()
    for trial in range(trials):
        draw = ready.chooser.draw(seed, trial)
        apart = difference(run(ready.tower.plan, draw), other(ready.tower.plan, draw))
        if apart is not None:
            return f"trial {trial}: {apart}"
        on_done(1)
    return None


def difference(reference: Diary, other: Diary) -> str | None:
    """The first step, in time, at which two diaries of one plan part, in words; None if they are equal."""
    apart = np.zeros(reference.plan.n, dtype=np.bool_)
    for stamp in STAMPS:
        apart |= getattr(reference, stamp) != getattr(other, stamp)
    if not apart.any():
        return None
    steps = np.flatnonzero(apart)
    step = int(steps[np.argmin(reference.ready[steps])])
    said = ", ".join(f"{s} {getattr(reference, s)[step]} and {getattr(other, s)[step]}" for s in STAMPS)
    return f"'{reference.plan.names[step]}' has {said} (reference, then compiled); {len(steps)} steps differ"
