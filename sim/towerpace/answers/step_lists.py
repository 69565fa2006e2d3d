"""When the first of some steps began and the last of them ended, for many lists of steps at once."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from towerpace.engine.diary import NEVER, Diary
from towerpace.engine.kernel.gather import starts
from towerpace.units import Ints


class StepLists:
    """Lists of steps, some of which may be empty.

    Examples
    --------
    >>> import numpy as np
    >>> from towerpace import Plan, Step, run
    >>> from towerpace.answers.step_lists import StepLists
    >>> diary = run(Plan([Step("a", work=5), Step("b", work=9, date=20), Step("c", date=90)], horizon=50))
    >>> lists = StepLists([np.array([0, 1]), np.array([2]), np.array([], dtype=np.int64)])
    >>> lists.first_start(diary).tolist(), lists.last_end(diary).tolist()
    ([0, -1, -1], [29, -1, -1])
    """

    def __init__(self, lists: Sequence[Ints]) -> None:
        self._steps = np.concatenate([np.zeros(0, dtype=np.int64), *lists])
        lengths = np.array([len(steps) for steps in lists], dtype=np.int64)
        self._n, self._filled = len(lists), np.flatnonzero(lengths)
        self._first = starts(lengths[self._filled])[:-1]

    def first_start(self, diary: Diary) -> Ints:
        """First minute at which any of each list began, (n_lists,); -1 where none did. [min]"""
        # Read as a number without a sign, what never came is the greatest.
        begun = diary.started[self._steps].view(np.uint32)
        return self._reduced(np.minimum, begun).astype(np.int32).astype(np.int64)

    def last_end(self, diary: Diary) -> Ints:
        """Last minute at which any of each list ended, (n_lists,); -1 where none did. [min]"""
        return self._reduced(np.maximum, diary.finished[self._steps]).astype(np.int64)

    def _reduced(self, most: np.ufunc, stamps: np.ndarray) -> np.ndarray:
        reduced = np.full(self._n, NEVER, dtype=np.int32).view(stamps.dtype)
        if len(self._filled):
            reduced[self._filled] = most.reduceat(stamps, self._first)
        return reduced
