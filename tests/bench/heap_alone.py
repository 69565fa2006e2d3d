"""The least that the clock of a trial must do: its own events through the kernel's heap, and nothing else."""

from __future__ import annotations

import numpy as np

from towerpace.compiling.jit import entry
from towerpace.engine.diary import NEVER, Diary
from towerpace.engine.kernel.arrays import MINUTE_0
from towerpace.engine.kernel.heaps import pop, push, whole
from towerpace.units import Ints


def events_of(diary: Diary) -> tuple[Ints, Ints]:
    """Start and end of every step that took time, in the order of the starts, (k,). [min]"""
    took_time = np.flatnonzero((diary.started != NEVER) & (diary.finished > diary.started))
    order = took_time[np.argsort(diary.started[took_time], kind="stable")]
    return diary.started[order].astype(np.int64), diary.finished[order].astype(np.int64)


def _through_the_heap(starts: Ints, ends: Ints, heap: Ints) -> int:
    """Push every end at its start and pop all that come before; the last minute popped."""
    last = MINUTE_0
    for k in range(len(starts)):
        while heap[0] > 0 and heap[1] <= starts[k]:
            last = pop(heap, whole(heap))
        push(heap, whole(heap), ends[k])
    while heap[0] > 0:
        last = pop(heap, whole(heap))
    return last


_compiled = entry(_through_the_heap)


def through_the_heap(events: tuple[Ints, Ints]) -> int:
    """The last end of all events, found by the heap. [min]"""
    starts, ends = events
    return int(_compiled(starts, ends, np.zeros(len(starts) + 1, dtype=np.int64)))
