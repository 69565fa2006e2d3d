"""What is kept of each trial: small arrays, so that memory stays flat however long the diaries are."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from towerpace.draws import Draw
from towerpace.engine.diary import Diary
from towerpace.engine.openings import Openings

Array = NDArray[np.int64]


@dataclass(frozen=True)
class Outcome:
    """Results of one trial.

    values : kept trial by trial. sums : added over the trials, whole numbers so that order cannot matter.
    """

    values: Mapping[str, Array]
    sums: Mapping[str, Array]


class Reader(Protocol):
    """Turns a diary into an outcome."""

    def __call__(self, draw: Draw, openings: Openings, diary: Diary) -> Outcome:
        """Results of one trial."""


class Measure(Protocol):
    """What a study wants to know; sent to the workers, where `reader` prepares what is reused."""

    def reader(self) -> Reader:
        """A reader for many trials of one plan."""


@dataclass(frozen=True)
class Outcomes:
    """Results of trials 0, 1, ..., n - 1.

    values : each (n, ...). sums : each over all n trials.
    """

    n: int
    values: Mapping[str, Array]
    sums: Mapping[str, Array]


def stacked(outcomes: Sequence[Outcome]) -> Outcomes:
    """Several single trials together."""
    first = outcomes[0]
    values = {key: np.stack([np.asarray(o.values[key]) for o in outcomes]) for key in first.values}
    return Outcomes(
        len(outcomes), values, {key: sum_of([o.sums[key] for o in outcomes]) for key in first.sums}
    )


def joined(parts: Sequence[Outcomes]) -> Outcomes:
    """Runs of trials one behind the other."""
    first = parts[0]
    values = {key: np.concatenate([p.values[key] for p in parts]) for key in first.values}
    return Outcomes(
        sum(p.n for p in parts), values, {key: sum_of([p.sums[key] for p in parts]) for key in first.sums}
    )


def sum_of(arrays: Sequence[Array]) -> Array:
    """Sum of arrays of one shape."""
    total = np.zeros_like(arrays[0])
    for array in arrays:
        total = total + array
    return total
