"""The array of one trial: how it stands at minute 0, the draw put in, the diary taken out."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from towerpace.draws import Draw
from towerpace.engine.diary import NEVER, ORIGIN
from towerpace.engine.kernel import columns as c
from towerpace.engine.kernel.air import Air

Ints = NDArray[np.int64]


def at_minute_0(plan: Ints, *, placed: Ints, missing: Ints) -> Ints:
    """The site before anything happens, up to `columns.WORK_SPACE`.

    placed : place of every positioned unit, pool by pool. missing : (n,) predecessors of every step.
    """
    site = np.zeros(plan[c.WORK_SPACE], dtype=np.int64)
    n, n_pools = plan[c.N_STEPS], plan[c.N_POOLS]
    site[plan[c.READY] : plan[c.BEHIND]] = NEVER
    site[plan[c.ENABLER] : plan[c.ENABLER] + n] = ORIGIN
    site[plan[c.MISSING] : plan[c.MISSING] + n] = missing
    stocks = rows(site, plan[c.STOCKS], count=n_pools, columns=c.STOCK_COLUMNS)
    stocks[:, c.FREE] = rows(plan, plan[c.POOLS], count=n_pools, columns=c.POOL_COLUMNS)[:, c.UNITS]
    stocks[:, [c.LAST_GIVER, c.GIVEN_AT]] = c.NONE
    units = rows(site, plan[c.PLACES], count=len(placed), columns=c.UNIT_COLUMNS)
    units[:, c.AT], units[:, c.IDLE] = placed, 1
    turnouts = rows(site, plan[c.TURNOUTS], count=plan[c.N_CROWDS], columns=c.TURNOUT_COLUMNS)
    turnouts[:, c.FIRST_KEY], turnouts[:, c.SEEN_AT] = c.NOBODY, c.NONE
    site[plan[c.ALARMS] : plan[c.TREES]] = c.NONE
    site[plan[c.TREES] :] = c.NOBODY
    windows = rows(plan, plan[c.WINDOWS], count=plan[c.N_WINDOWS], columns=c.WINDOW_COLUMNS)
    site[plan[c.CURSORS] + windows[:, c.CALENDAR]] = windows[:, c.FIRST_SPAN]
    return site


def site_of(plan: Ints, start: Ints, *, draw: Draw, air: Air) -> Ints:
    """The array of one trial.

    plan : laid out as `columns` says. start : what `at_minute_0` made.

    Raises
    ------
    ValueError
        If the minutes of the draw are not whole numbers.
    """
    site = site_in_air(plan, air)
    # The head of the air is the end of the head, which the start leaves as it is.
    site[: c.N_HOURS], site[c.SITE_HEAD : len(start)] = start[: c.N_HOURS], start[c.SITE_HEAD :]
    for word, slot, values in (("work", c.WORKS, draw.work), ("date", c.DATES, draw.date)):
        if values.dtype.kind not in "iu":
            raise ValueError(f"draw: {word} must be whole minutes, got {values.dtype}")
        site[plan[slot] : plan[slot] + plan[c.N_STEPS]] = values
    site[plan[c.SKIPS] : plan[c.SKIPS] + plan[c.N_STEPS]] = draw.skip
    return site


def site_in_air(plan: Ints, air: Air) -> Ints:
    """An array of one trial in which only the weather is set out, for those who read windows alone."""
    site = np.empty(plan[c.SITE_SIZE] + len(air.rows), dtype=np.int64)
    site[c.N_HOURS], site[c.RECORD_HOURS] = air.n_hours, air.values.shape[1]
    site[plan[c.ROWS] :] = air.rows
    return site


def stamps_of(plan: Ints, site: Ints) -> tuple[NDArray[np.int32], ...]:
    """Ready, started, finished and enabler of every step, (n,) each. [min]"""
    n = plan[c.N_STEPS]
    ready, started, finished, enabler = (
        site[plan[slot] : plan[slot] + n].astype(np.int32)
        for slot in (c.READY, c.STARTED, c.FINISHED, c.ENABLER)
    )
    return ready, started, finished, np.where(started == NEVER, np.int32(NEVER), enabler)


def rows(array: Ints, start: int, *, count: int, columns: int) -> Ints:
    """A region as a table, without copying."""
    return array[start : start + count * columns].reshape(count, columns)
