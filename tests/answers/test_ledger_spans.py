"""Spans of calendars laid end to end, against the open minutes of each window by itself."""

from __future__ import annotations

import numpy as np

from support.compiler import compiled_here
from support.dice import Dice, on_random
from towerpace import Plan, Step, Window
from towerpace.answers.ledger.shifts import NOT_TO_COME, minutes_before, shifts_of, span_at
from towerpace.engine.kernel.tables import compiled
from towerpace.engine.openings import Opening

HORIZON = 5000  # [min]


def _spans(dice: Dice, *, most: int) -> list[tuple[int, int]]:
    """Up to so many spans, ascending and apart, some of which may touch."""
    edges = sorted(dice.whole(0, HORIZON + 600) for _ in range(2 * dice.whole(0, most)))
    return [(a, b) for a, b in zip(edges[::2], edges[1::2], strict=True) if a < b]


def _windows(dice: Dice) -> list[Window]:
    return [
        Window(f"w{k}", _spans(dice, most=12), stops=_spans(dice, most=dice.of([0, 0, 4])))
        for k in range(dice.whole(1, 4))
    ]


@compiled_here
def ask(spans, calendar, minutes):
    """Span of a calendar at every minute, and minutes of its spans before."""
    found = np.empty((2, len(minutes)), dtype=np.int64)
    for k, minute in enumerate(minutes):
        found[0, k], found[1, k] = span_at(spans, calendar, minute), minutes_before(spans, calendar, minute)
    return found


@on_random(_windows, cases=60)
def test_minutes_of_shifts_and_open_minutes_are_those_of_each_window(windows):
    plan = Plan([Step("s", work=1)], windows=windows, horizon=HORIZON)
    arrays = compiled(plan).start.windows
    both, minutes = shifts_of(plan, arrays), np.arange(HORIZON + 1)
    for window, calendar in zip(windows, arrays.calendar.tolist(), strict=True):
        opening = Opening(window, hours=None, horizon=HORIZON)
        assert both.has_stops[calendar] == (opening.spans.tolist() != opening.shifts.tolist())
        for spans, own in ((both.shifts, opening.shifts), (both.spans, opening.spans)):
            found, before = ask(spans, calendar, minutes)
            is_in = ((own[:, :1] <= minutes) & (minutes < own[:, 1:])).any(axis=0)
            assert before.tolist() == [0, *np.cumsum(is_in)[:-1].tolist()]
            next_end = np.append(own[:, 1], NOT_TO_COME)
            at = np.searchsorted(own[:, 1], minutes, side="right")
            assert spans.end[found].tolist() == next_end[at].tolist()
            assert spans.begin[found].tolist() == np.append(own[:, 0], NOT_TO_COME)[at].tolist()
