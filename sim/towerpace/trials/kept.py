"""Whole numbers of many trials, kept as narrow as they are and widened when somebody asks for them.

A trial brings some thousand numbers: minutes by trade and cause, most of which are 0 in every trial, and
minutes of the clock, which 32 bits hold for four thousand years. Kept as they come they would be most of what
ten thousand trials need of memory.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from towerpace.units import Ints

# The greatest number stands for what never came, in either width.
WIDE, NARROW = np.iinfo(np.int64), np.iinfo(np.int32)


@dataclass(frozen=True)
class Slim:
    """One array of some trials, (n, ...): only the columns in which any number is not 0.

    shape : of the whole. columns : those that are kept. numbers : (n, n_columns).
    """

    shape: tuple[int, ...]
    columns: Ints
    numbers: NDArray[np.int32] | Ints

    @classmethod
    def of(cls, array: Ints) -> Slim:
        """What is left of an array."""
        rows = array.reshape(len(array), -1)
        columns = np.flatnonzero(rows.any(axis=0))
        return cls(array.shape, columns, _narrow(rows[:, columns]))

    def write(self, into: Ints) -> None:
        """Write the array into zeros of its shape."""
        wide = self.numbers.astype(np.int64)
        if self.numbers.dtype != np.int64:
            wide[wide == NARROW.max] = WIDE.max
        into.reshape(len(into), -1)[:, self.columns] = wide


def _narrow(numbers: Ints) -> NDArray[np.int32] | Ints:
    """The numbers in 32 bits if these hold them."""
    never = numbers == WIDE.max
    fits = never | ((numbers > NARROW.min) & (numbers < NARROW.max))
    if not fits.all():
        return numbers.copy()
    return np.where(never, NARROW.max, numbers).astype(np.int32)


class Kept(Mapping[str, Ints]):
    """Arrays by name over the trials, (n, ...) each, in the order in which their parts came.

    Every look makes the array anew; to write into it changes nothing here.

    Examples
    --------
    >>> import numpy as np
    >>> from towerpace.trials.kept import Kept
    >>> Kept.of({"finish": np.array([90, 100])}).then(Kept.of({"finish": np.array([80])}))["finish"]
    array([ 90, 100,  80])
    """

    def __init__(self, parts: Mapping[str, tuple[Slim, ...]]) -> None:
        self._parts = parts

    @classmethod
    def of(cls, arrays: Mapping[str, Ints]) -> Kept:
        """Arrays of some trials as they are."""
        return cls({name: (Slim.of(array),) for name, array in arrays.items()})

    def then(self, *others: Kept) -> Kept:
        """These trials and behind them those of others, which have the same names."""
        return Kept(
            {name: _behind(own, [x._parts[name] for x in others]) for name, own in self._parts.items()}
        )

    def beside(self, other: Kept) -> Kept:
        """The arrays of both, of the same trials."""
        return Kept({**self._parts, **other._parts})

    def __getitem__(self, name: str) -> Ints:
        parts = self._parts[name]
        whole = np.zeros((sum(part.shape[0] for part in parts), *parts[0].shape[1:]), dtype=np.int64)
        first = 0
        for part in parts:
            part.write(whole[first : first + part.shape[0]])
            first += part.shape[0]
        return whole

    def __iter__(self) -> Iterator[str]:
        return iter(self._parts)

    def __len__(self) -> int:
        return len(self._parts)


def _behind(own: tuple[Slim, ...], others: Sequence[tuple[Slim, ...]]) -> tuple[Slim, ...]:
    return (*own, *(part for other in others for part in other))
