"""Minutes of the clock as the dates and working days that people read."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np

from towerpace.plan.site.working_hours import calendar_shifts
from towerpace.scenario.schema import Settings
from towerpace.units import DAY_MIN, Ints


class Days:
    """Dates of a project.

    A moment belongs to the day on which it falls; the last midnight of a day still belongs to that day.
    Working days are the days on which some trade has a shift, counted from the first to the day itself. A
    shift counts on the day on which it begins, and on one more for every further 24 hours that it goes on: a
    night belongs to its evening and a week around the clock has all its days.
    """

    def __init__(self, settings: Settings) -> None:
        self.start = settings.tower.start
        self._days = settings.tower.horizon_days
        at_work = np.zeros(self._days + 2, dtype=np.int64)  # shifts that begin to count on a day, less ended
        for name in {trade.calendar for trade in settings.trade.values()}:
            shifts = calendar_shifts(settings.calendar[name], start=self.start, days=self._days)
            first = shifts[:, 0] // DAY_MIN
            after = first - (shifts[:, 0] - shifts[:, 1]) // DAY_MIN
            np.add.at(at_work, np.minimum(first, self._days + 1), 1)
            np.add.at(at_work, np.minimum(after, self._days + 1), -1)
        self._worked = np.cumsum(np.cumsum(at_work[:-1]) > 0)

    def day(self, minute: int) -> int:
        """Day on which a moment falls, 0 the first."""
        return max(0, minute - 1) // DAY_MIN

    def date_of(self, minute: int) -> date:
        """Date on which a moment falls."""
        return self.start + timedelta(days=self.day(minute))

    def working_day(self, minute: int) -> int:
        """Working days from the start up to and including the day of a moment."""
        return int(self._worked[min(self.day(minute), self._days)])

    def working_days(self, minutes: Ints) -> Ints:
        """Working days from the start up to and including the days of many moments."""
        days = np.minimum(np.maximum(0, minutes - 1) // DAY_MIN, self._days)
        counted: Ints = self._worked[days]
        return counted

    def last_minute(self, day: date) -> int:
        """Midnight that ends a date. [min]"""
        return ((day - self.start).days + 1) * DAY_MIN

    def dates(self, minutes: Ints) -> list[date]:
        """Dates of many moments."""
        return [self.date_of(int(m)) for m in minutes]
