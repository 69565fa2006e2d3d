"""Many calls of compiled entries in one, without Python between them and without its lock.

Between two entries Python would take its lock, write a table and let the lock go again; where several threads
play, each then waits for the others. So the tables of many calls are written beforehand, and one call makes
them all. The entries are those that Python calls: nothing is compiled twice.
"""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
from pathlib import Path
from typing import Any

import numpy as np

from towerpace.compiling.jit import entry, numba, stamp_of
from towerpace.units import Flags, Ints

_calls: Any = import_module("towerpace.compiling.calls") if numba() is not None else None
call: Any = None if _calls is None else _calls.call  # without numba nobody makes a chain


class Chain:
    """Calls of entries in their order, each with a table of its own.

    n : how many there are. The chain keeps the tables, and not what they point to.
    """

    def __init__(self, n: int) -> None:
        self._addresses, self._places = np.zeros((2, n), dtype=np.int64)
        self._answers = np.zeros(n, dtype=np.bool_)
        self._tables: list[Any] = [None] * n

    def put(self, at: int, entry: Callable[[Any], bool], table: Any) -> None:
        """Make a call of an entry, with what `Laid.but` made for it, the one at a place."""
        self._addresses[at] = _calls.address_of(entry)
        self._places[at] = table.__array_interface__["data"][0]
        self._tables[at] = table

    def run(self, n: int) -> Flags:
        """Make the first n calls; what each answered, (n,), lent until the next run."""
        answers = self._answers[:n]
        call_all(self._addresses[:n], self._places[:n], answers)
        return answers


def _stamped(stamp: int) -> Callable[[Ints, Ints, Flags], bool]:
    """The entry, with the stamp of the sources that it is compiled from."""

    def call_all(addresses: Ints, places: Ints, answers: Flags) -> bool:
        """Call the entry at each address with the table at its place, (n,) each."""
        for k in range(len(addresses)):
            answers[k] = call(addresses[k], places[k])
        return stamp >= 0

    return entry(call_all)


call_all = _stamped(stamp_of(Path(__file__)))
