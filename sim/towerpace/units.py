"""Minutes of an hour and of a day, and the arrays that all rooms speak of."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

HOUR_MIN = 60
DAY_MIN = 24 * HOUR_MIN
WEEK_MIN = 7 * DAY_MIN

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
