"""Work outside the calendar of its trade: kept as it was told, with a remark for each trade."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator

import numpy as np

from towerpace.plan.arrays import NONE
from towerpace.plan.lists import START
from towerpace.plan.model import Plan
from towerpace.record.filling import trade_said, where_said
from towerpace.record.log import Remark
from towerpace.record.moments import shown_minute
from towerpace.record.told import Told

_LINES_NAMED = 6


def work_outside(told: Told, plan: Plan, *, start: dt.date) -> Iterator[Remark]:
    """Steps whose told times lie outside the shifts of their window, trade by trade.

    start : first day of the scenario.
    """
    outside: dict[str, list[int]] = defaultdict(list)
    for step, begun in told.begun_at.items():
        if told.ended_at.get(step) == begun:  # a panel is rejected whenever it is unpacked
            continue
        # A lift that has begun runs on when its shift ends.
        last = begun if plan.mode[step] == START else max(told.ended_at.get(step, begun + 1) - 1, begun)
        if not (_open(plan, step, begun) and _open(plan, step, last)):
            outside[trade_said(plan.tags(step))].append(step)
    for steps in outside.values():
        first = min(steps, key=told.begun_at.__getitem__)
        rows = [row for step in steps if (row := told.source[step]) is not None]
        lines = tuple(dict.fromkeys(row.line for row in rows))[:_LINES_NAMED]
        more = f" and {len(steps) - 1} more" if len(steps) > 1 else ""
        at = shown_minute(told.begun_at[first], start=start)
        text = f"{where_said(plan.tags(first))} outside its calendar, from {at}{more}; the times are kept"
        yield Remark(rows[0].file if rows else "", lines, text)


def _open(plan: Plan, step: int, minute: int) -> bool:
    """Whether a minute lies in a shift of the window of a step."""
    window = int(plan.window[step])
    if window == NONE:
        return True
    shifts = np.asarray(plan.windows[window].shifts, dtype=np.int64).reshape(-1, 2)
    k = int(np.searchsorted(shifts[:, 0], minute, side="right")) - 1
    return k >= 0 and minute < int(shifts[k, 1])
