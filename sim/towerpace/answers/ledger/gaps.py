"""The gaps before the steps of a front: what was still missing, minute by minute, back in time.

Compiled with numba, or run as it stands without.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Annotated, Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from towerpace.compiling.addresses import at_addresses
from towerpace.compiling.jit import inline_part, part, trial_entry
from towerpace.engine.diary import NEVER
from towerpace.engine.kernel.arrays import Numbers
from towerpace.engine.kernel.stamp import stamp_of_sources
from towerpace.units import Ints


class GapArrays(NamedTuple):
    """What the booking of one trial's gaps reads and writes.

    book : (n_rows x n_levels + 1, n_causes). [min]
    clocks : steps that have a clock: there may be a gap before them.
    spot : (n,) row of the book. number : (n,) in the plan.
    ready, finished : (n,). [min]  missing_cause : (n,) column for the minutes that others wait for a step.
    first_before : (n + 1,) lists of before, the predecessors of every step.
    first_since : lists of since for each clock, the steps whose last end starts it.
    """

    book: Annotated[Ints, 2]
    clocks: Numbers
    spot: Numbers
    ready: NDArray[np.int32]
    finished: NDArray[np.int32]
    first_before: Numbers
    before: Numbers
    first_since: Numbers
    since: Numbers
    missing_cause: Numbers
    number: Numbers


@part
def last_of(gaps: GapArrays, steps: Numbers, first: int, end: int) -> int:
    """The last of the steps [first, end) to end, of one minute the highest number; NEVER if there is none."""
    last = NEVER
    for k in range(first, end):
        step = steps[k]
        is_later = last == NEVER or gaps.finished[step] > gaps.finished[last]
        if is_later or (gaps.finished[step] == gaps.finished[last] and gaps.number[step] > gaps.number[last]):
            last = step
    return int(last)


@inline_part
def blame(gaps: GapArrays, row: int, step: int, since: int) -> None:
    """Book the minutes from `since` to the step's ready under whoever was still missing, back in time."""
    until = int(gaps.ready[step])
    while until > since:
        last = last_of(gaps, gaps.before, gaps.first_before[step], gaps.first_before[step + 1])
        end = int(gaps.finished[last]) if last != NEVER else 0
        if end < until:  # its own date came last: a truck, a handover
            gaps.book[row, gaps.missing_cause[step]] += until - max(end, since)
            until = end
        if last == NEVER or until <= since:
            return
        ready = int(gaps.ready[last])
        gaps.book[row, gaps.missing_cause[last]] += until - max(ready, since)
        until, step = ready, last


gaps_at = at_addresses(GapArrays)


def _stamped(stamp: int) -> Callable[[Any], bool]:
    """The entry, with the stamp of the sources that it is compiled from."""

    def book_gaps(table: Any) -> bool:
        """Book the gaps before every step that has a clock."""
        gaps = gaps_at(table)
        for clock in range(len(gaps.clocks)):
            step = gaps.clocks[clock]
            last = last_of(gaps, gaps.since, gaps.first_since[clock], gaps.first_since[clock + 1])
            since = int(gaps.finished[last]) if last != NEVER else 0
            if since != NEVER and gaps.ready[step] > since:
                blame(gaps, gaps.spot[step], step, since)
        return stamp >= 0

    return trial_entry(book_gaps)


book_gaps = _stamped(stamp_of_sources(Path(__file__)))
