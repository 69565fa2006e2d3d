"""The ledger of a block of trials, as calls behind each of them: minutes by cause, gaps, sums.

The books are those of `Ledger.booked`, by the same entries. Here they read what the kernel has just written,
where it stands: the stamps of the steps in its own order, and what was free of every pool from minute to
minute, which for a diary alone must be found from all that was taken and given.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Annotated, Any, NamedTuple

import numpy as np

from towerpace.answers.ledger.arrays import SplitArrays
from towerpace.answers.ledger.book import Ledger, LedgerParts
from towerpace.answers.ledger.gaps import GapArrays, book_gaps
from towerpace.answers.ledger.split import split_all
from towerpace.compiling.addresses import Laid, at_addresses
from towerpace.compiling.jit import inline_part, trial_entry
from towerpace.compiling.pages import on_pages
from towerpace.engine.kernel.arrays import Numbers, StepArrays, TrialArrays
from towerpace.engine.kernel.block import Block, Calls
from towerpace.engine.kernel.order import entries_in_order
from towerpace.engine.kernel.stamp import stamp_of_sources
from towerpace.units import Ints

LEVELS = ("first_level", "n_levels", "level_min", "level_free")


class SumArrays(NamedTuple):
    """What is added up behind the entries of the ledger.

    book : (n_rows x n_levels + 1, n_causes), the last row thrown away. n_levels. spots : rows of the book
        that steps have.
    ledger : (n_rows, n_causes) of this trial. total : (n_rows x n_levels, n_causes) of all so far. [min]
    counted, lifts : (2,) how many lifts were caught, and ended past their shift: counted so far, and kept.
    """

    book: Annotated[Ints, 2]
    n_levels: int
    spots: Numbers
    ledger: Annotated[Ints, 2]
    total: Annotated[Ints, 2]
    counted: Ints
    lifts: Ints


@inline_part
def add_up(sums: SumArrays) -> None:
    """Add a book to that of the trials before, and empty it; its rows over all levels; what befell lifts."""
    book, n_rows, n_causes = sums.book, sums.ledger.shape[0], sums.book.shape[1]
    for row in range(n_rows):
        for cause in range(n_causes):
            sums.ledger[row, cause] = 0
    for k in range(len(sums.spots)):
        spot = sums.spots[k]
        row = spot // sums.n_levels
        for cause in range(n_causes):
            minutes = book[spot, cause]
            if minutes != 0:
                book[spot, cause] = 0
                if row < n_rows:
                    sums.ledger[row, cause] += minutes
                    sums.total[spot, cause] += minutes
    for k in range(len(sums.lifts)):
        sums.lifts[k], sums.counted[k] = sums.counted[k], 0


sums_at = at_addresses(SumArrays)


def _stamped(stamp: int) -> Callable[[Any], bool]:
    """The entry, with the stamp of the sources that it is compiled from."""

    def add_book(table: Any) -> bool:
        """Add up the book of a trial."""
        add_up(sums_at(table))
        return stamp >= 0

    return trial_entry(add_book)


add_book = _stamped(stamp_of_sources(Path(__file__)))


def split_in_order(parts: LedgerParts, trial: TrialArrays) -> SplitArrays:
    """What the split reads of steps in the order of the kernel, stamps and levels where it wrote them."""
    number, split = trial.steps.number, parts.split
    own = {name: getattr(split, name)[number] for name in ("is_tangled", "is_plain", "first_pool_cause")}
    own |= {
        "row": parts.spot[number],
        "work_cause": parts.work_cause[number],
        "is_lift": parts.is_lift[number],
    }
    own |= {"in_line": np.argsort(number)[split.in_line]}
    nothing: Any = ()  # what the kernel has must stay where it is
    held = on_pages(split._replace(steps=nothing, windows=nothing, **own))
    levels = {name: getattr(trial.pools, name) for name in LEVELS}
    return held._replace(steps=trial.steps, windows=trial.windows, **levels)


def gaps_in_order(gaps: GapArrays, steps: StepArrays) -> GapArrays:
    """What the booking of gaps reads of steps in the order of the kernel, stamps where it wrote them."""
    number, place = steps.number, np.argsort(steps.number).astype(np.int32)
    order = np.argsort(place[gaps.clocks])
    first_before, before = entries_in_order(gaps.first_before, number)
    first_since, since = entries_in_order(gaps.first_since, order)
    in_order = gaps._replace(
        clocks=place[gaps.clocks[order]],
        spot=gaps.spot[number],
        number=number,
        first_before=first_before,
        before=place[gaps.before[before]],
        first_since=first_since,
        since=place[gaps.since[since]],
        missing_cause=gaps.missing_cause[number],
    )
    return on_pages(in_order)._replace(ready=steps.ready, finished=steps.finished)


class LedgerBlock:
    """The ledgers of the trials of a block.

    ledger : (size, n_rows, n_causes) of each trial. [min]
    total : (n_rows, n_levels, n_causes) of all of them. [min]
    lifts : (size, 2) how many lifts weather caught, and how many ran past their shift. [-]
    All are lent until the next block is played.
    """

    def __init__(self, ledger: Ledger, block: Block) -> None:
        self._block = block
        n_rows, n_levels, n_causes = len(ledger.rows), len(ledger.tower.levels), len(ledger.causes)
        self.ledger = np.zeros((block.size, n_rows, n_causes), dtype=np.int64)
        self.lifts = np.zeros((block.size, 2), dtype=np.int64)
        self._total = np.zeros((n_rows * n_levels, n_causes), dtype=np.int64)
        self.total = self._total.reshape(n_rows, n_levels, n_causes)
        self._lay_out(ledger.parts, n_levels)
        block.read_by(self._calls)

    def begin(self) -> None:
        """Forget the sums of the block before."""
        self._total[:] = 0

    def _lay_out(self, parts: LedgerParts, n_levels: int) -> None:
        trial, n = self._block.trial, self._block.plan.n
        book = np.zeros((len(self._total) + 1, self.ledger.shape[2]), dtype=np.int64)
        caught, past_shift = np.zeros((2, n), dtype=np.bool_)
        counted, seen_level = np.zeros(2, dtype=np.int64), np.zeros(len(trial.pools.free), dtype=np.int64)
        into: dict[str, Any] = {
            "waiting": book,
            "doing": book,
            "caught": caught,
            "past_shift": past_shift,
            "lifts": counted,
        }
        split = split_in_order(parts, trial)
        self._split = Laid(split._replace(seen_level=seen_level, **into))
        self._gaps = Laid(gaps_in_order(parts.gaps, trial.steps)._replace(book=book))
        self._sums = Laid(
            SumArrays(
                book=book,
                n_levels=n_levels,
                spots=np.unique(parts.spot),
                ledger=self.ledger[0],
                total=self._total,
                counted=counted,
                lifts=self.lifts[0],
            )
        )

    def _calls(self, k: int) -> Calls:
        """What is called behind trial k."""
        return (
            (split_all, self._split.but(self._block.in_windows(k))),
            (book_gaps, self._gaps.table),
            (add_book, self._sums.but({"ledger": self.ledger[k], "lifts": self.lifts[k]})),
        )
