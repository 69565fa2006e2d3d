"""Hours that break a limit, and the minutes for which work must then stop."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from towerpace.climate.hours import Hours, Variable, is_wind, runs
from towerpace.units import HOUR_MIN, Flags, Ints

Cause = Literal["wind", "rain", "cold", "heat", "visibility", "lightning"]


@dataclass(frozen=True)
class HourLimit:
    """A limit on one variable of the weather at one height.

    Attributes
    ----------
    name
        The limit as the scenario calls it.
    variable
        What is compared; for wind, gusts and means are different variables, and so is either on a face.
    above, below
        Bound beyond which an hour is bad; exactly one of them. [unit of the variable]
    ratio
        What the value of the station is multiplied by first: gust or mean ratio of the height. [-]
    restart_min
        Minutes to wait after the last bad hour. [min]
    cause
        The word for what stopped the work.
    key
        Where the scenario states it; empty for a limit that no scenario states.
    """

    name: str
    variable: Variable
    above: float | None
    below: float | None
    ratio: float
    restart_min: int
    cause: Cause
    key: str = ""

    def __post_init__(self) -> None:
        """Refuse a limit that says nothing or twice, or scales anything but wind."""
        if (self.above is None) == (self.below is None):
            found = f"got {self.above} and {self.below}"
            raise ValueError(f"limit {self.name}: exactly one of above and below, {found}")
        if not self.ratio > 0 or (self.ratio != 1 and not is_wind(self.variable)):
            rule = "must be above 0, and 1 unless on gust or mean"
            raise ValueError(f"limit {self.name}: ratio {rule}, got {self.ratio} on {self.variable}")
        if self.restart_min < 0:
            raise ValueError(f"limit {self.name}: restart_min must be at least 0, got {self.restart_min}")


def stopped(hours: Hours, limit: HourLimit) -> Flags:
    """True for each hour that breaks the limit, shape (n_hours,).

    A value on the limit does not break it: stopped when ratio x value > above, or ratio x value < below.

    Raises
    ------
    ValueError
        If the record has no column of the variable.
    """
    values = hours.values(limit.variable)
    scaled = values if limit.ratio == 1 else limit.ratio * values
    if limit.below is not None:
        return np.less(scaled, limit.below)
    return np.greater(scaled, limit.above if limit.above is not None else np.inf)


def stop_spans(stopped: Flags, restart_min: int) -> Ints:
    """Minutes [from, to) for which work stops, in order and apart from each other, shape (n_spans, 2). [min]

    Parameters
    ----------
    stopped
        True for each bad hour, hour 0 from minute 0, shape (n_hours,).
    restart_min
        Minutes to wait after the last bad hour; a clear gap no longer than that is no gap. [min]

    Notes
    -----
    The last span may run past the last hour by the wait.
    """
    spans = runs(stopped) * HOUR_MIN
    if not len(spans):
        return spans
    spans[:, 1] += restart_min
    apart = spans[1:, 0] > spans[:-1, 1]
    firsts, lasts = np.append(True, apart), np.append(apart, True)
    return np.stack([spans[firsts, 0], spans[lasts, 1]], axis=1)
