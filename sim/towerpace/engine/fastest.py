"""The fastest engine there is: the compiled kernel with numba, else the reference, with equal diaries."""

from __future__ import annotations

from typing import Protocol

from towerpace.draws import Draw
from towerpace.engine import kernel
from towerpace.engine.diary import Diary
from towerpace.engine.names import ENGINES, EngineName
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


def engine_named(name: EngineName) -> Engine:
    """The engine of a name; raises `ValueError` for an unknown one, and for "compiled" without numba."""
    if name not in ENGINES:
        raise ValueError(f"engine {name!r}; allowed: {', '.join(ENGINES)}")
    if name == "compiled" and not kernel.available():
        raise ValueError("the compiled engine is not there: numba is not installed, or is switched off")
    if name != "reference":
        return fastest()
    from towerpace.engine.reference import run

    return run


def run(plan: Plan, draw: Draw | None = None, *, engine: EngineName = "fastest") -> Diary:
    """Play one trial of a plan.

    Parameters
    ----------
    plan : Plan
        What is to be done.
    draw : Draw, optional
        What chance decided; by default everything goes as planned.
    engine : str
        "fastest" is the compiled engine where there is one, "compiled" that or none, "reference" the SimPy
        model that states the law. All give the same diary.

    Returns
    -------
    Diary
        When every step was ready, started and ended, and what let it start. [min]

    Raises
    ------
    ValueError
        If the draw does not fit the plan, or the compiled engine is asked for and not there.

    Examples
    --------
    >>> from towerpace import Plan, Step, run
    >>> run(Plan([Step("cure", work=90), Step("lift", work=10, after=["cure"])])).finish
    100
    """
    return engine_named(engine)(plan, draw)
