"""What the hours of a set-up went into more or less than those of the base: causes summed over all trades."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from towerpace.answers.choice.paired import Difference, paired_difference
from towerpace.answers.forecast import Forecast
from towerpace.answers.ledger.book import in_calendar_time
from towerpace.answers.ledger.groups import topic
from towerpace.units import Floats

LEAST_H = 1.0  # a smaller change in the mean of the trials is none that anybody would act on
SHIFT_CLOCK, CALENDAR_CLOCK = "shift", "calendar"
Key = tuple[str, str]  # cause, clock


@dataclass(frozen=True)
class CauseChange:
    """How much longer, or shorter, all trades together spent on one cause.

    clock : "shift" for hours inside the shift, "calendar" for waits that run through nights and closed days.
    base_h, hours : mean hours of a trial of the base, and set-up less base. [h]
    front_days : the change as calendar days of each work area; None on the other clock. [d]
    """

    cause: str
    clock: str
    base_h: float
    hours: Difference
    front_days: Difference | None


def cause_changes(own: Forecast, base: Forecast) -> tuple[CauseChange, ...]:
    """Every cause that changed by an hour or more, the largest first.

    Paired over the trials that both have, at least two of them. In the order a calendar day of waiting counts
    as an hour inside the shift.
    """
    n = min(own.trials, base.trials)
    if n < 2:
        return ()
    after, before = _by_cause(own, n), _by_cause(base, n)
    changes = [_change(key, after, before, forecasts=(own, base)) for key in {**before, **after}]
    large = [change for change in changes if abs(change.hours.mean) >= LEAST_H]
    return tuple(sorted(large, key=lambda c: -abs(c.hours.mean) / (24 if c.clock == CALENDAR_CLOCK else 1)))


def _by_cause(forecast: Forecast, n: int) -> dict[Key, Floats]:
    """Hours of each trial by cause and clock, (n,), over all trades; hours outside the shift left out. [h]"""
    by_column = forecast.outcomes.values["ledger"][:n].sum(axis=1) / 60.0
    hours: dict[Key, Floats] = {}
    for column, cause in enumerate(forecast.causes):
        about = topic(cause)
        if about is not None and by_column[:, column].any():
            key = about, CALENDAR_CLOCK if in_calendar_time(cause) else SHIFT_CLOCK
            hours[key] = hours.get(key, 0.0) + by_column[:, column]
    return hours


def _change(
    key: Key,
    after: dict[Key, Floats],
    before: dict[Key, Floats],
    *,
    forecasts: tuple[Forecast, Forecast],
) -> CauseChange:
    nothing = np.zeros_like(next(iter((*after.values(), *before.values()))))
    own, base = after.get(key, nothing), before.get(key, nothing)
    cause, clock = key
    days = None
    if clock == CALENDAR_CLOCK:
        days = paired_difference(
            *(h / 24 / len(f.tower.fronts) for h, f in zip((own, base), forecasts, strict=True))
        )
    return CauseChange(cause, clock, float(base.mean()), paired_difference(own, base), days)
