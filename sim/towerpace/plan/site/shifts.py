"""A week of working hours, with closed days, laid over the days of a project."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

DAY_MIN = 24 * 60
Spans = Sequence[tuple[int, int]]


def shifts(
    week: Mapping[int, Spans], *, closed: Collection[date], start: date, days: int
) -> NDArray[np.int64]:
    """Shifts of a project, (n, 2) minutes [from, to) since its first midnight. [min]

    week : weekday (Monday 0) -> spans in minutes of the day. Spans that touch, also across midnight, are
        one shift; a break ends a shift.
    closed : days without work.
    days : how many days from `start` on.
    """
    made: list[list[int]] = []
    for k in range(days):
        day = start + timedelta(days=k)
        if day in closed:
            continue
        for a, b in week.get(day.weekday(), ()):
            if made and made[-1][1] == k * DAY_MIN + a:
                made[-1][1] = k * DAY_MIN + b
            else:
                made.append([k * DAY_MIN + a, k * DAY_MIN + b])
    return np.array(made, dtype=np.int64).reshape(-1, 2)


def in_either(a: NDArray[np.int64], b: NDArray[np.int64]) -> NDArray[np.int64]:
    """Minutes in either of two lists of shifts, (n, 2); shifts that overlap or touch become one. [min]"""
    made: list[list[int]] = []
    for since, until in sorted([*a.tolist(), *b.tolist()]):
        if made and since <= made[-1][1]:
            made[-1][1] = max(made[-1][1], until)
        else:
            made.append([since, until])
    return np.array(made, dtype=np.int64).reshape(-1, 2)
