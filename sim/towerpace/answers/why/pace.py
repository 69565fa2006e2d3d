"""Minutes of the chain in working days: what lies inside the shift, counted in shifts of the trade's own."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from towerpace.answers.days import DAY_MIN
from towerpace.answers.ledger.book import in_calendar_time
from towerpace.answers.ledger.waits import SHIFT
from towerpace.answers.why.explain import DATE_CAUSE, LATER_CAUSE
from towerpace.plan.model import NONE, Plan

Floats = NDArray[np.float64]


def in_shift(cause: str) -> bool:
    """Whether the minutes of a cause of the chain lie inside the shift.

    >>> [in_shift(cause) for cause in ("work", "wind", "outside shift", "after curing")]
    [True, True, False, False]
    """
    return cause not in (SHIFT, DATE_CAUSE, LATER_CAUSE) and not in_calendar_time(cause)


def shift_min(plan: Plan) -> dict[str, float]:
    """Minutes of the shift on a mean working day of every trade or row, over its steps.

    Rows none of whose steps has a window, as milestones and curing, are left out. [min]
    """
    of_window = np.array([_of_a_day(np.asarray(window.shifts).reshape(-1, 2)) for window in plan.windows])
    lengths: dict[str, list[float]] = {}
    for step, window in enumerate(plan.window.tolist()):
        if window != NONE and of_window[window] > 0:
            lengths.setdefault(plan.tags(step).trade, []).append(float(of_window[window]))
    return {trade: float(np.mean(own)) for trade, own in lengths.items()}


def _of_a_day(shifts: NDArray[np.int64]) -> float:
    """Mean minutes of shift of the days that have any."""
    if not len(shifts):
        return 0.0
    return float((shifts[:, 1] - shifts[:, 0]).sum() / len(np.unique(shifts[:, 0] // DAY_MIN)))
