"""The shifts of every calendar, and where to begin looking for those of a day."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from towerpace.engine.kernel.arrays import WindowArrays
from towerpace.engine.kernel.gather import starts
from towerpace.plan.model import Plan
from towerpace.units import DAY_MIN, Ints

NOT_TO_COME = 2**62


class Shifts(NamedTuple):
    """The shifts of a plan's calendars up to the horizon; what each array holds is said in `SplitArrays`."""

    shift_start: Ints
    shift_end: Ints
    minutes_before: Ints
    day_shift: Ints
    day_span: Ints


def shifts_of(plan: Plan, windows: WindowArrays) -> Shifts:
    """The shifts of all calendars, and rows by calendar and day.

    Windows of one calendar have the same shifts and differ in their limits. Behind the shifts of each stands
    one that never comes, so that a search need not ask for the end.
    """
    shifts, befores = [np.zeros((0, 2), dtype=np.int64)], [np.zeros(0, dtype=np.int64)]
    _, of_calendar = np.unique(windows.calendar, return_index=True)
    for window in of_calendar.tolist():
        own = np.asarray(plan.windows[window].shifts, dtype=np.int64).reshape(-1, 2)
        own = np.minimum(own[own[:, 0] < plan.horizon], plan.horizon)
        shifts.append(np.append(own, [[NOT_TO_COME, NOT_TO_COME]], axis=0))
        befores.append(starts(own[:, 1] - own[:, 0]))
    last = max((int(own[-2, 0]) for own in shifts[1:] if len(own) > 1), default=0)
    days = np.arange(last // DAY_MIN + 1) * DAY_MIN
    day_shift, day_span = np.empty((2, len(of_calendar), len(days)), dtype=np.int64)
    first = starts(np.array([len(own) for own in shifts[1:]], dtype=np.int64))
    for k, window in enumerate(of_calendar.tolist()):
        first_span = windows.first_span[window]
        closes = windows.closes[first_span : windows.end_span[window]]
        day_shift[k] = first[k] + np.searchsorted(shifts[k + 1][:, 1], days, side="right")
        day_span[k] = first_span + np.searchsorted(closes, days, side="right")
    shift_start, shift_end = np.concatenate(shifts).T.copy()
    return Shifts(shift_start, shift_end, np.concatenate(befores), day_shift, day_span)
