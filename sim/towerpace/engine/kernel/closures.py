"""The windows of a plan as tables: calendars without weather, shared by the windows that have the same."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from towerpace.climate.hours import Variable
from towerpace.engine.kernel import columns as c
from towerpace.engine.openings import Opening
from towerpace.plan.model import Plan
from towerpace.plan.parts import Window

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]


class Closures:
    """Windows, spans and limits, with the columns of `columns`.

    windows : (n_windows, 5). spans : (n_spans, 3), calendar after calendar. [min]  limits : (n_limits, 4).
    bounds : (n_limits, 2) ratio [-] and bound [unit of the variable].
    variables : of the weather, by number. Windows that no step uses bring no limits.
    """

    def __init__(self, plan: Plan) -> None:
        self._horizon = plan.horizon
        self._calendars: dict[tuple[bytes, bytes], tuple[int, int, int]] = {}
        self._spans: list[Ints] = [np.zeros((0, c.SPAN_COLUMNS), dtype=np.int64)]
        self._variables: dict[Variable, int] = {}
        self._limits: list[tuple[int, ...]] = []
        self._bounds: list[tuple[float, float]] = []
        used = set(plan.window.tolist())
        windows = [self._row(window, used=k in used) for k, window in enumerate(plan.windows)]
        self.n_calendars = len(self._calendars)
        self.windows: Ints = np.array(windows, dtype=np.int64).reshape(-1, c.WINDOW_COLUMNS)
        self.spans: Ints = np.concatenate(self._spans)
        self.limits: Ints = np.array(self._limits, dtype=np.int64).reshape(-1, c.LIMIT_COLUMNS)
        self.bounds: Floats = np.array(self._bounds, dtype=np.float64).reshape(-1, 2)
        self.variables = tuple(self._variables)

    def _row(self, window: Window, *, used: bool) -> tuple[int, ...]:
        first = len(self._limits)
        for limit in window.limits if used else ():
            bound = limit.above if limit.below is None else limit.below
            assert bound is not None  # HourLimit has exactly one of the two
            variable = self._variables.setdefault(limit.variable, len(self._variables))
            wind = limit.variable in ("gust", "mean")
            self._limits.append((variable, limit.restart_min, limit.below is not None, wind))
            self._bounds.append((limit.ratio, bound))
        return (*self._calendar(window), first, len(self._limits))

    def _calendar(self, window: Window) -> tuple[int, int, int]:
        """Number of a window's calendar, and its spans [from, to)."""
        shifts, stops = (np.asarray(x, dtype=np.int64).tobytes() for x in (window.shifts, window.stops))
        found = self._calendars.get((shifts, stops))
        if found is None:
            opening = Opening(replace(window, limits=()), hours=None, horizon=self._horizon)
            first = sum(len(s) for s in self._spans)
            self._spans.append(np.column_stack((opening.spans, opening.shift_end)))
            found = (len(self._calendars), first, first + len(opening.spans))
            self._calendars[shifts, stops] = found
        return found
