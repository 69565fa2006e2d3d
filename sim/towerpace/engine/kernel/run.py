"""The way into the compiled kernel: the same call as `engine.reference.run`, the same diary."""

from __future__ import annotations

from towerpace.draws import Draw, as_planned
from towerpace.engine.diary import Diary
from towerpace.engine.kernel.air import air_of
from towerpace.engine.kernel.play import play
from towerpace.engine.kernel.tables import compiled
from towerpace.engine.openings import Openings
from towerpace.plan.model import Plan


def run(plan: Plan, draw: Draw | None = None, *, openings: Openings | None = None) -> Diary:
    """Play one trial.

    plan : what is to be done; its tables are made at the first trial and kept.
    draw : what chance decided; by default everything goes as planned.
    openings : taken so that both engines are called alike; the kernel scans the hours of the draw itself.

    Raises
    ------
    ValueError
        If the draw does not fit the plan, or brings no hours where limits need them.
    RuntimeError
        If the kernel's own bookkeeping fails; the diary is then not to be had.
    """
    del openings
    draw = as_planned(plan) if draw is None else draw
    if not _is_laid_out(draw, plan):
        draw.check(plan)
    tables = compiled(plan)
    trial = tables.room.set_out(draw=draw, air=air_of(draw.hours, tables.variables))
    if not play(trial.handed):
        draw.check(plan)
        raise RuntimeError("the kernel ran out of room, which its tables should rule out")
    return Diary(plan, trial.ready, trial.started, trial.finished, trial.enabler)


def _is_laid_out(draw: Draw, plan: Plan) -> bool:
    """Whether compiled code may look at the numbers of a draw, and finds what is wrong with them."""
    is_whole = all(values.shape == (plan.n,) for values in (draw.work, draw.date, draw.skip))
    return is_whole and draw.pins is None and not plan.rigid
