"""What is kept of each trial: small arrays, so that memory stays flat however long the diaries are."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol, runtime_checkable

import numpy as np

from towerpace.draws import Draw
from towerpace.engine.diary import Diary
from towerpace.engine.openings import Openings
from towerpace.trials.kept import Kept
from towerpace.units import Ints

if TYPE_CHECKING:  # imported, it would import numba
    from towerpace.engine.kernel.block import Block


@dataclass(frozen=True)
class Outcome:
    """Results of one trial.

    values : kept trial by trial. sums : added over the trials, whole numbers so that order cannot matter.
    """

    values: Mapping[str, Ints]
    sums: Mapping[str, Ints]


class Reader(Protocol):
    """Turns a diary into an outcome."""

    def __call__(self, draw: Draw, openings: Openings, diary: Diary) -> Outcome:
        """Results of one trial."""


class BlockReader(Protocol):
    """Plays and reads some trials in one go."""

    def __call__(self, draws: Sequence[Draw]) -> Outcomes | None:
        """Results of trials in their order; None for trials that must be played one by one."""


@runtime_checkable
class ReadsBlocks(Protocol):
    """A reader that can also read many trials at once."""

    def in_blocks(self, block: Block) -> BlockReader:
        """What plays trials in a block and reads them, with the same results as one by one."""


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
    values: Kept
    sums: Mapping[str, Ints]


class Pile:
    """Single trials put together as they come, from the first.

    Sums are large, so they are added at once and the trial's own let go. Ctrl-C leaves a pile whole, with the
    last trial or without it.
    """

    TOGETHER = 50  # trials of which the values are put into one array

    def __init__(self) -> None:
        # Trials, their sums, values put together and values of the last trials, all in one assignment.
        self._whole: tuple[int, Mapping[str, Ints], tuple[Kept, ...], tuple[Mapping[str, Ints], ...]]
        self._whole = (0, {}, (), ())

    @property
    def n(self) -> int:
        """Number of trials."""
        return self._whole[0]

    def add(self, outcome: Outcome) -> None:
        """Put a trial on top."""
        n, sums, parts, loose = self._whole
        loose = (*loose, outcome.values)
        if len(loose) == self.TOGETHER:
            parts, loose = (*parts, _side_by_side(loose)), ()
        sums = {k: sum_of([sums[k], v]) if n else v for k, v in outcome.sums.items()}
        self._whole = (n + 1, sums, parts, loose)

    def outcomes(self) -> Outcomes:
        """All trials of the pile, of which there is at least one."""
        n, sums, parts, loose = self._whole
        first, *others = (*parts, _side_by_side(loose)) if loose else parts
        return Outcomes(n, first.then(*others), sums)


def _side_by_side(values: Sequence[Mapping[str, Ints]]) -> Kept:
    """The values of single trials, at least one."""
    return Kept.of({key: np.stack([np.asarray(v[key]) for v in values]) for key in values[0]})


def stacked(outcomes: Iterable[Outcome]) -> Outcomes:
    """Several single trials together, at least one."""
    pile = Pile()
    for outcome in outcomes:
        pile.add(outcome)
    return pile.outcomes()


def joined(parts: Sequence[Outcomes]) -> Outcomes:
    """Runs of trials one behind the other."""
    first, *others = parts
    sums = {key: sum_of([part.sums[key] for part in parts]) for key in first.sums}
    values = first.values.then(*(part.values for part in others))
    return Outcomes(sum(part.n for part in parts), values, sums)


def sum_of(arrays: Sequence[Ints]) -> Ints:
    """Sum of arrays of one shape."""
    total = arrays[0].copy()
    for array in arrays[1:]:
        total += array
    return total


def read_one_by_one(read: Reader, block: Block, draws: Sequence[Draw]) -> Outcomes:
    """Trials that are played together and read one after the other."""
    block.play(draws)
    openings = (Openings(block.plan.windows, hours=d.hours, horizon=block.plan.horizon) for d in draws)
    return stacked(map(read, draws, openings, map(block.diary, range(len(draws)))))
