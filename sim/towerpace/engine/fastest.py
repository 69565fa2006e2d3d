"""The fastest engine there is: the compiled kernel with numba, else the reference, with equal diaries."""

from __future__ import annotations

from typing import Protocol

from towerpace.draws import Draw
from towerpace.engine import kernel
from towerpace.engine.diary import Diary
from towerpace.engine.openings import Openings
from towerpace.plan.model import Plan

WITHOUT = "numba is not installed: trials run on the reference engine, with the same numbers, far slower."


class Engine(Protocol):
    """Plays one trial."""

    def __call__(self, plan: Plan, draw: Draw | None = None, *, openings: Openings | None = None) -> Diary:
        """The diary of one trial."""


def fastest() -> Engine:
    """The compiled kernel where it can be compiled, else the reference engine."""
    if kernel.available():
        from towerpace.engine.kernel.run import run as compiled

        return compiled
    from towerpace.engine.reference import run

    return run
