"""What the compiled split of a trial's minutes reads and writes."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from towerpace.engine.kernel.scan import Arrays, Ints

# Columns of the causes that every plan has: work, move, begun again, outside shift, stops, too late, line.
WORKED, MOVED, AGAIN, OUTSIDE, STOPPED, LATE, BEHIND = range(7)
# Columns of the times of a step, (n, 4), and of the facts of a step, (n, 2).
READY, BEGUN, ENDED, FINISHED = range(4)
FIRST_CAUSE, TANGLED = range(2)


class Keeping(NamedTuple):
    """What the split of one trial reads and writes.

    a : the kernel's arrays.
    named : (7,) column of each cause that every plan has. of_limit, of_pool : columns of theirs.
    shifts : shifts of all windows, (k, 3) from, to and open minutes before. [min]
    shift_starts : (n_windows + 1,) where each window's begin.
    facts : (n, 2) cause of being short of the first pool; whether it needs more, or stands in a line.
    times : (n, 4). [min]  work : (n,). [min]  skip : (n,).
    level_starts : (n_pools + 1,) rows of each pool. levels : (k, 2) minute, and units free from then on.
    line_starts, in_line : the steps of each line.
    waiting, doing : (n, n_causes). [min]  caught : (n,).
    """

    a: Arrays
    named: Ints
    of_limit: Ints
    of_pool: Ints
    shifts: Ints
    shift_starts: Ints
    facts: Ints
    times: Ints
    work: Ints
    skip: NDArray[np.bool_]
    level_starts: Ints
    levels: Ints
    line_starts: Ints
    in_line: Ints
    waiting: Ints
    doing: Ints
    caught: NDArray[np.bool_]
