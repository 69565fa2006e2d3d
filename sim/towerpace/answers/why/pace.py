"""Minutes of the chain in working days: what lies inside the shift, in shifts of the step's own calendar."""

from __future__ import annotations

import numpy as np

from towerpace.answers.ledger.book import in_calendar_time
from towerpace.answers.ledger.waits import SHIFT
from towerpace.answers.why.chain import DATE_CAUSE, LATER_CAUSE
from towerpace.plan.model import NONE, Plan
from towerpace.units import DAY_MIN, Floats, Ints


class Pace:
    """Turns minutes of steps into working days; what runs day and night, or outside the shift, has none."""

    def __init__(self, plan: Plan, causes: tuple[str, ...]) -> None:
        of_window = np.array(
            [_shift_min(np.asarray(w.shifts).reshape(-1, 2)) for w in plan.windows] or [np.nan]
        )
        # A step without a window runs day and night: curing, repairs, a lead time.
        self._length = np.where(plan.window == NONE, np.nan, of_window[plan.window])
        self._inside = np.array([in_shift(cause) for cause in causes])

    def working_days(self, minutes: Ints, *, steps: Ints) -> Floats:
        """Working days of some steps by cause, (n_causes, k); nan for what is not counted in them.

        minutes : (n_causes, k). [min]
        """
        days: Floats = np.where(self._inside[:, None], minutes / self._length[steps], np.nan)
        return days


def in_shift(cause: str) -> bool:
    """Whether the minutes of a cause lie inside the shift, where the step has one.

    >>> [in_shift(cause) for cause in ("work", "wind", "outside shift", "after curing")]
    [True, True, False, False]
    """
    return cause not in (SHIFT, DATE_CAUSE, LATER_CAUSE) and not in_calendar_time(cause)


def _shift_min(shifts: Ints) -> float:
    """Minutes of shift on a mean working day; nan without any.

    A shift has the day on which it begins, and one more for every further 24 hours that it goes on, as the
    working days of a project are counted: a week around the clock has all its days.

    >>> five_days_round_the_clock = np.array([[0, 5 * DAY_MIN]])
    >>> _shift_min(five_days_round_the_clock)
    1440.0
    """
    if not len(shifts):
        return float("nan")
    minutes = shifts[:, 1] - shifts[:, 0]
    # Rounded up, and two shifts of one day have it once.
    days = {
        day
        for first, n in zip(shifts[:, 0] // DAY_MIN, -(-minutes // DAY_MIN), strict=True)
        for day in range(int(first), int(first + n))
    }
    return float(minutes.sum()) / len(days)
