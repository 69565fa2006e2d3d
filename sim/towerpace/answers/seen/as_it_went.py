"""The past once more: planned minutes, but whatever is told as it is told, on the weather of the site.

What nobody timed then lies where the plan's own links, gangs and shifts put it, and not at an even share of
the time since the last sheet: concrete that was cast early in a week has cured since then.
"""

from __future__ import annotations

import numpy as np

from towerpace.answers.learn.minutes import SiteClock
from towerpace.climate.hours import Hours
from towerpace.draws import Draw
from towerpace.engine.fastest import run
from towerpace.engine.openings import Openings
from towerpace.plan.arrays import NONE
from towerpace.plan.lists import ALWAYS, UNBROKEN, WORK
from towerpace.plan.model import Plan
from towerpace.plan.site.tower import Tower
from towerpace.record.links import without_links
from towerpace.record.resolve import Past
from towerpace.record.times import AsPlanned
from towerpace.units import Flags


def as_it_went(tower: Tower, past: Past, *, hours: Hours | None) -> AsPlanned:
    """When every step began and ended if what is told is true and the rest went as planned.

    past : resolved already, in whatever order. hours : of the site.
    """
    plan = without_links(tower.plan, past.let_go)
    date, work = plan.date.copy(), plan.work.copy()
    told = np.flatnonzero(past.told)
    date[told] = past.begun[told]
    clock = SiteClock(tower.plan, hours=hours)
    work[told] = [clock.between(step, int(past.begun[step]), int(past.ended[step])) for step in told.tolist()]
    work[_remade(plan, past)] = 0
    openings = Openings(plan.windows, hours=hours, horizon=plan.horizon)
    for step in np.flatnonzero((past.undone > 0) & ~past.told).tolist():
        date[step] = max(date[step], _latest_begin(plan, step, openings, int(past.undone[step])))
    diary = run(plan, Draw(work, date, _left_out(plan, past.reported), hours))
    return AsPlanned(diary.started.astype(np.int64), diary.finished.astype(np.int64))


def _remade(plan: Plan, past: Past) -> Flags:
    """Remedies that only pass time and are over, (n,): nobody says how long, and what follows tells when."""
    alone = (np.diff(plan.needs.start) == 0) & ((plan.window == NONE) | (plan.mode == ALWAYS))
    remade: Flags = alone & ~plan.planned & past.reported & (past.ended != NONE)
    return remade


def _latest_begin(plan: Plan, step: int, openings: Openings, undone: int) -> int:
    """When a step began if it ended soon after a minute at which it was not done. [min]

    However fast the rest of the plan would have been: it did not end before.
    """
    work = int(plan.work[step])
    if plan.mode[step] not in (WORK, UNBROKEN):
        return undone - work
    opening = openings[int(plan.window[step])]
    return opening.done(0, max(opening.before(undone) - work, 0)) or 0


def _left_out(plan: Plan, reported: Flags) -> Flags:
    """Remedies of which nobody has reported a step, (n,): what is filled in before others was not needed."""
    flags = plan.flag[reported]
    asked = np.isin(plan.flag, flags[flags != NONE])
    left_out: Flags = ~plan.planned & ~reported & ~asked
    return left_out
