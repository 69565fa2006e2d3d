"""The windows of a plan as arrays: calendars without weather, shared by the windows that have the same."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from towerpace.climate.hours import Variable, is_wind
from towerpace.engine.kernel.arrays import WindowArrays
from towerpace.engine.openings import Opening
from towerpace.plan.model import Plan
from towerpace.plan.parts import Window
from towerpace.units import Ints


class CalendarsAndLimits:
    """Collects the calendars and the limits of a plan's windows; windows that no step uses bring no limits.

    variables : of the weather, by number.
    """

    def __init__(self, plan: Plan) -> None:
        self._horizon = plan.horizon
        self._calendars: dict[tuple[bytes, bytes], tuple[int, int, int]] = {}
        self._spans: list[Ints] = [np.zeros((0, 3), dtype=np.int64)]
        self._variables: dict[Variable, int] = {}
        self._limits: list[tuple[float, ...]] = []
        used = set(plan.window.tolist())
        rows = [self._row(window, used=k in used) for k, window in enumerate(plan.windows)]
        self._windows = np.array(rows, dtype=np.int64).reshape(-1, 5)
        self.variables = tuple(self._variables)

    def _row(self, window: Window, *, used: bool) -> tuple[int, ...]:
        first = len(self._limits)
        for limit in window.limits if used else ():
            bound = limit.above if limit.below is None else limit.below
            assert bound is not None  # HourLimit has exactly one of the two
            variable = self._variables.setdefault(limit.variable, len(self._variables))
            is_below, speed = limit.below is not None, is_wind(limit.variable)
            self._limits.append((variable, limit.restart_min, limit.ratio, bound, is_below, speed))
        return (*self._calendar(window), first, len(self._limits))

    def _calendar(self, window: Window) -> tuple[int, int, int]:
        """Number of a window's calendar, and its spans [from, to)."""
        shifts, stops = (np.asarray(x, dtype=np.int64).tobytes() for x in (window.shifts, window.stops))
        if (shifts, stops) not in self._calendars:
            opening = Opening(replace(window, limits=()), hours=None, horizon=self._horizon)
            first = sum(len(spans) for spans in self._spans)
            self._spans.append(np.column_stack((opening.spans, opening.shift_end)))
            self._calendars[shifts, stops] = (len(self._calendars), first, first + len(opening.spans))
        return self._calendars[shifts, stops]

    def arrays(self) -> WindowArrays:
        """The windows at minute 0, without weather."""
        # Column by column, each in one piece of memory, as compiled code expects it.
        calendar, first_span, end_span, first_limit, end_limit = self._windows.T.copy()
        opens, closes, shift_end = np.concatenate(self._spans).T.copy()
        variable, restart_min, ratio, bound, is_below, grows = np.array(self._limits).reshape(-1, 6).T.copy()
        cursor = np.zeros(len(self._calendars), dtype=np.int64)
        cursor[calendar] = first_span
        return WindowArrays(
            calendar=calendar,
            first_span=first_span,
            end_span=end_span,
            first_limit=first_limit,
            end_limit=end_limit,
            opens=opens,
            closes=closes,
            shift_end=shift_end,
            variable=variable.astype(np.int64),
            restart_min=restart_min.astype(np.int64),
            ratio=ratio,
            bound=bound,
            is_below=is_below.astype(np.bool_),
            is_wind=grows.astype(np.bool_),
            cursor=cursor,
            value=np.zeros((0, 0)),
            day=np.zeros(0, dtype=np.int64),
            wind_factor=np.zeros(0),
            n_hours=0,
        )
