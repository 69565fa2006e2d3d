"""What laws of chance draw from: a stream of numbers for each purpose of a trial."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Streams = Callable[[str], np.random.Generator]
Counters = NDArray[np.uint64]


class Counted(ABC):
    """Streams of one trial that say where they begin to count, so that compiled code may draw from them."""

    @abstractmethod
    def __call__(self, purpose: str) -> np.random.Generator:
        """The stream of a purpose, from its beginning; lent until the purpose is asked for again."""

    @abstractmethod
    def counters(self, purposes: tuple[str, ...]) -> Counters:
        """The two words of the key of each purpose and the third of its counter, (n, 3); lent likewise."""
