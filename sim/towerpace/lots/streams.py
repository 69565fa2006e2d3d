"""What laws of chance draw from: a stream of numbers for each purpose of a trial, or of many trials."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from towerpace.units import Floats

Streams = Callable[[str], np.random.Generator]
Counters = NDArray[np.uint64]


class Counted(ABC):
    """Streams that say where they begin to count, so that compiled code may draw from them.

    shape : () of one trial, (n_trials,) of many side by side. each : those of every trial by itself.
    """

    shape: tuple[int, ...]
    each: Sequence[Streams]

    @abstractmethod
    def __call__(self, purpose: str) -> np.random.Generator:
        """The stream of a purpose, from its beginning; lent until the purpose is asked for again.

        Raises
        ------
        TypeError
            If these are of many trials, which have no generator in common.
        """

    @abstractmethod
    def counters(self, purposes: tuple[str, ...]) -> Counters:
        """Of each trial the two words of the key of each purpose and the third of its counter, lent likewise.

        (n_trials, n, 3), of one trial (1, n, 3).
        """


def by_trial(streams: Streams, draw: Callable[[Streams], Floats]) -> Floats:
    """What is drawn from one trial's streams, (...); of many trials side by side, (n_trials, ...)."""
    if isinstance(streams, Counted) and streams.shape:
        return np.stack([draw(own) for own in streams.each])
    return draw(streams)
