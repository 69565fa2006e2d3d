"""What laws of chance draw from: a stream of numbers for each purpose of a trial."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Streams = Callable[[str], np.random.Generator]
Keys = NDArray[np.uint64]


class Counted(ABC):
    """Streams of one trial that say under which keys they count, so that compiled code may draw from them.

    trial : third word of their counter.
    """

    trial: int

    @abstractmethod
    def __call__(self, purpose: str) -> np.random.Generator:
        """The stream of a purpose, from its beginning; lent until the purpose is asked for again."""

    @abstractmethod
    def keys(self, purposes: tuple[str, ...]) -> Keys:
        """The two words of the key of each purpose, (n, 2)."""
