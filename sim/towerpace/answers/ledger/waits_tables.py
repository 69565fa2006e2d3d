"""What the compiled split of a trial's minutes reads and writes."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from towerpace.engine.diary import Stamps
from towerpace.engine.kernel.scan import Arrays, Ints

# Columns of the causes that every plan has: move, begun again, outside shift, stops, too late, line.
MOVED, AGAIN, OUTSIDE, STOPPED, LATE, BEHIND = range(6)
# Columns of the facts of a step.
FIRST_CAUSE, TANGLED = range(2)
# An event as one number: its minute, one up, and its place among the events.
EVENT_BITS = 32
EVENTS = (1 << EVENT_BITS) - 1
# Columns of `by_day`.
SHIFT_ROW, SPAN_ROW = range(2)


class Keeping(NamedTuple):
    """What the split of one trial reads and writes.

    a : the kernel's arrays.
    named : (6,) column of each cause that every plan has. of_limit, of_pool : columns of theirs.
    shifts : shifts of all windows, (k, 3) from, to and open minutes before. [min]
    by_day : (n_windows, n_days, 2) first row of `shifts`, and first open span of the plan, that ends after
        a day has begun; the last day stands for all that follow.
    facts : (n, 2) cause of being short of the first pool; whether it needs more, or stands in a line.
    ready, started, finished : (n,) stamps of the diary. [min]  work : (n,). [min]  skip : (n,).
    row : (n,) row of a step in `waiting` and `doing`: its own, or one that it shares with others.
    worked : (n,) column of its working minutes.
    event_step, gives, change : of each event at a pool that is asked for its level, by pool: the step,
        whether it gives, and by how many units that changes what is free.
    level_starts : (n_pools + 1,) rows of each pool. levels : (k, 2) minute, and units free from then on.
    line_starts, in_line : the steps of each line.
    waiting, doing : (n_rows, n_causes), which may be one array. [min]  caught : (n,).
    """

    a: Arrays
    named: Ints
    of_limit: Ints
    of_pool: Ints
    shifts: Ints
    by_day: Ints
    facts: Ints
    ready: Stamps
    started: Stamps
    finished: Stamps
    work: Ints
    skip: NDArray[np.bool_]
    row: Ints
    worked: Ints
    event_step: Ints
    gives: NDArray[np.bool_]
    change: Ints
    level_starts: Ints
    levels: Ints
    line_starts: Ints
    in_line: Ints
    waiting: Ints
    doing: Ints
    caught: NDArray[np.bool_]
