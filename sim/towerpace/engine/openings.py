"""Open minutes of every window under one draw, and the questions a step asks of them.

A window is a list of open spans [from, to), each knowing the end of its shift. All questions are pure
functions of the window and the minute: the clock sleeps once per step, nothing is interrupted by wind.
"""

from __future__ import annotations

from bisect import bisect_right
from functools import cached_property

import numpy as np

from towerpace.climate.hours import Hours
from towerpace.climate.limits import stop_spans, stopped
from towerpace.plan.parts import Window
from towerpace.units import Ints


def without(spans: Ints, closed: Ints) -> Ints:
    """Spans less the closed ones, both (n, 2), ascending and apart. [min]"""
    if not closed.size or not spans.size:
        return spans
    opens = np.concatenate(([np.iinfo(np.int64).min], closed[:, 1]))
    closes = np.concatenate((closed[:, 0], [np.iinfo(np.int64).max]))
    return both(spans, np.stack((opens, closes), axis=1))


def both(a: Ints, b: Ints) -> Ints:
    """Minutes in both lists of spans, each (n, 2), ascending and apart. [min]"""
    first = np.searchsorted(b[:, 1], a[:, 0], side="right")
    last = np.searchsorted(b[:, 0], a[:, 1], side="left")
    counts = np.maximum(last - first, 0)
    which = np.repeat(np.arange(len(a)), counts)
    other = np.arange(counts.sum()) + np.repeat(first - np.cumsum(counts) + counts, counts)
    start = np.maximum(a[which, 0], b[other, 0])
    end = np.minimum(a[which, 1], b[other, 1])
    overlaps: Ints = np.stack((start, end), axis=1)[end > start]
    return overlaps


class Opening:
    """One window under one draw.

    layers : open spans after the shifts alone, after the fixed stops, and after each limit in turn, so
        that the minutes lost from one layer to the next are that limit's. Each (n, 2). [min]
    causes : what each step from layer to layer is blamed on.
    """

    def __init__(self, window: Window, *, hours: Hours | None, horizon: int) -> None:
        shifts = np.asarray(window.shifts, dtype=np.int64).reshape(-1, 2)
        shifts = shifts[shifts[:, 0] < horizon]
        self.shifts = np.minimum(shifts, horizon)
        self._shift_ends = shifts[:, 1]
        self.layers = [self.shifts]
        self.causes: list[str] = []
        stops = np.asarray(window.stops, dtype=np.int64).reshape(-1, 2)
        if stops.size:
            self._close("wind", stops)
        for limit in window.limits:
            if hours is None:
                raise ValueError(
                    f"window '{window.name}' has weather limits, so the draw must bring the hours"
                )
            self._close(limit.cause, stop_spans(stopped(hours, limit), limit.restart_min))

    def _close(self, cause: str, closed: Ints) -> None:
        self.layers.append(without(self.layers[-1], closed))
        self.causes.append(cause)

    @property
    def spans(self) -> Ints:
        """Open spans, (n, 2). [min]"""
        return self.layers[-1]

    @cached_property
    def opens(self) -> list[int]:
        """Where each open span begins. [min]"""
        return _list(self.spans[:, 0])

    @cached_property
    def closes(self) -> list[int]:
        """Where each open span ends. [min]"""
        return _list(self.spans[:, 1])

    @cached_property
    def shift_end(self) -> Ints:
        """End of the shift that each open span lies in, (n,); it may lie beyond the horizon. [min]"""
        return self._shift_ends[np.searchsorted(self.shifts[:, 0], self.spans[:, 0], side="right") - 1]

    @cached_property
    def _ends(self) -> list[int]:
        return _list(self.shift_end)

    @cached_property
    def open_before(self) -> list[int]:
        """Open minutes before each span, and in all: one entry more than spans."""
        return [0, *np.cumsum(self.spans[:, 1] - self.spans[:, 0]).tolist()]

    def before(self, minute: int) -> int:
        """Open minutes before a minute. [min]"""
        k = bisect_right(self.opens, minute) - 1
        if k < 0:
            return 0
        return self.open_before[k] + min(minute, self.closes[k]) - self.opens[k]

    def next_start(self, minute: int, expected: int) -> int | None:
        """First minute from here on that is open with `expected` minutes left in its shift, or None."""
        starts, ends, shift_ends = self.opens, self.closes, self._ends
        for k in range(bisect_right(ends, minute), len(starts)):
            start = max(minute, starts[k])
            if start + expected <= shift_ends[k]:
                return start
        return None

    def done(self, minute: int, work: int) -> int | None:
        """Minute at which `work` open minutes have passed since `minute`, or None beyond the horizon."""
        if work == 0:
            return minute
        k = bisect_right(self.closes, minute)
        if k == len(self.closes):
            return None
        goal = self.open_before[k] + max(0, minute - self.opens[k]) + work
        k = bisect_right(self.open_before, goal - 1) - 1
        if k >= len(self.opens):
            return None
        return self.opens[k] + goal - self.open_before[k]

    def done_unbroken(self, minute: int, work: int) -> int | None:
        """Minute at which `work` open minutes in one piece have passed, or None beyond the horizon."""
        if work == 0:
            return minute
        starts, ends = self.opens, self.closes
        since = minute
        for k in range(bisect_right(ends, minute), len(starts)):
            # Shifts that touch leave no minute closed between them.
            if k == 0 or starts[k] > ends[k - 1]:
                since = max(minute, starts[k])
            if since + work <= ends[k]:
                return since + work
        return None


def _list(minutes: Ints) -> list[int]:
    plain: list[int] = minutes.tolist()
    return plain


class Openings:
    """The openings of every window of a plan, made when first asked for."""

    def __init__(self, windows: tuple[Window, ...], *, hours: Hours | None, horizon: int) -> None:
        self._windows, self._hours, self._horizon = windows, hours, horizon
        self._made: dict[int, Opening] = {}

    def __getitem__(self, number: int) -> Opening:
        opening = self._made.get(number)
        if opening is None:
            opening = Opening(self._windows[number], hours=self._hours, horizon=self._horizon)
            self._made[number] = opening
        return opening
