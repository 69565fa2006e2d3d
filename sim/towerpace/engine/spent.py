"""Minutes that steps in progress have been at work."""

from __future__ import annotations

import numpy as np

from towerpace.climate.hours import Hours
from towerpace.engine.openings import Opening, Openings
from towerpace.plan.arrays import NONE
from towerpace.plan.lists import UNBROKEN, WORK
from towerpace.plan.model import Plan
from towerpace.units import Ints


def spent_min(plan: Plan, *, began: Ints, ended: Ints, until: int, hours: Hours | None = None) -> Ints:
    """Minutes that each step in progress has been at work up to a data date, the way of its crane with it.

    Parameters
    ----------
    plan : Plan
        With the windows as they were before the data date: not one that was `resumed` there.
    began, ended : ndarray
        As seen, shape (n,), -1 where it has not. [min]
    until : int
        The data date. [min]
    hours : Hours, optional
        Weather of the site.

    Returns
    -------
    ndarray
        Shape (n,), int64; -1 for what is not in progress. Of steps that pause the minutes in which the window
        was open, of steps that begin again after a break those of the piece in hand, else all. [min]
    """
    spent = np.full(plan.n, NONE, dtype=np.int64)
    openings = Openings(plan.windows, hours=hours, horizon=plan.horizon)
    for step in np.flatnonzero((began != NONE) & (ended == NONE)).tolist():
        since, mode = int(began[step]), int(plan.mode[step])
        if mode in (WORK, UNBROKEN):
            opening = openings[int(plan.window[step])]
            if mode == UNBROKEN:
                since = max(since, _piece_start(opening, until))
            spent[step] = opening.before(until) - opening.before(since)
        else:
            spent[step] = until - since
    return spent


def _piece_start(opening: Opening, minute: int) -> int:
    """When the open piece began in which a minute lies, or the minute itself in a break."""
    k = int(np.searchsorted(opening.opens, minute, side="right")) - 1
    if k < 0 or opening.closes[k] <= minute:
        return minute
    while k > 0 and opening.closes[k - 1] == opening.opens[k]:
        k -= 1
    return int(opening.opens[k])
