"""The ledger of a block of trials, as calls behind each of them: events in order, minutes by cause, sums.

The books are those of `Ledger.booked`, by the same entries. What numpy does there between them, for one trial
with Python's lock, is done here in compiled code: to sort the events at the pools, and to add up.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Annotated, Any, NamedTuple

import numpy as np

from towerpace.answers.ledger import arrays as arrays_module
from towerpace.answers.ledger.arrays import EVENT_BITS, EVENT_MASK
from towerpace.answers.ledger.book import Ledger
from towerpace.answers.ledger.gaps import book_gaps
from towerpace.answers.ledger.split import note_all, split_all
from towerpace.compiling.addresses import Laid, at_addresses
from towerpace.compiling.jit import inline_part, trial_entry
from towerpace.engine.kernel.arrays import Numbers, Stamps
from towerpace.engine.kernel.block import Block, Calls
from towerpace.engine.kernel.stamp import stamp_of_sources
from towerpace.units import Flags, Ints

DIGIT_BITS = 11
DIGITS = 1 << DIGIT_BITS
LAY_OUT, SORT, ADD_UP = range(3)


class SumArrays(NamedTuple):
    """What is laid out, sorted and added up around the entries of the ledger.

    what : LAY_OUT, SORT or ADD_UP.
    work, work_read : (n,) minutes as drawn, and as the split reads them.
    first_take, first_give, end_event, events : of `SplitArrays`. pool_of : (n_events,) of each that may come.
    one, other : (n_events,), and counts : (DIGITS,), to sort in. digits : of DIGIT_BITS that hold a minute.
    book : (n_rows x n_levels + 1, n_causes), the last row thrown away. n_levels.
    ledger : (n_rows, n_causes) of this trial. total : (n_rows x n_levels, n_causes) of all so far. [min]
    caught, past_shift, is_lift : (n,). lifts : (2,) how many lifts were caught, and ended past their shift.
    """

    what: int
    work: Ints
    work_read: Stamps
    first_take: Ints
    first_give: Ints
    end_event: Ints
    events: Ints
    pool_of: Numbers
    one: Ints
    other: Ints
    counts: Ints
    digits: int
    book: Annotated[Ints, 2]
    n_levels: int
    ledger: Annotated[Ints, 2]
    total: Annotated[Ints, 2]
    caught: Flags
    past_shift: Flags
    is_lift: Flags
    lifts: Ints


@inline_part
def lay_out(sums: SumArrays) -> None:
    """Minutes as the split reads them, and no events."""
    for step in range(len(sums.work)):
        sums.work_read[step] = sums.work[step]
    for pool in range(len(sums.first_give)):
        sums.end_event[pool] = sums.first_give[pool]


@inline_part
def sort_by_digit(counts: Ints, source: Ints, into: Ints, n: int, shift: int) -> None:
    """Put n numbers in the order of one digit, those that share it as they stand."""
    for digit in range(DIGITS):
        counts[digit] = 0
    for k in range(n):
        counts[source[k] >> shift & (DIGITS - 1)] += 1
    place = 0
    for digit in range(DIGITS):
        n_here = counts[digit]
        counts[digit] = place
        place += n_here
    for k in range(n):
        digit = source[k] >> shift & (DIGITS - 1)
        into[counts[digit]] = source[k]
        counts[digit] += 1


@inline_part
def sort_events(sums: SumArrays) -> None:
    """Put the events at every pool in order: of all pools by their minutes, and back to their pools.

    Those of one minute stay as `note_all` wrote them, in the order of their places.
    """
    source, into, n = sums.one, sums.other, 0
    for pool in range(len(sums.first_give)):
        for event in range(sums.first_take[pool], sums.end_event[pool]):
            source[n] = sums.events[event]
            n += 1
        sums.end_event[pool] = sums.first_take[pool]
    for digit in range(sums.digits):
        sort_by_digit(sums.counts, source, into, n, EVENT_BITS + DIGIT_BITS * digit)
        source, into = into, source
    for k in range(n):
        pool = sums.pool_of[source[k] & EVENT_MASK]
        sums.events[sums.end_event[pool]] = source[k]
        sums.end_event[pool] += 1


@inline_part
def add_up(sums: SumArrays) -> None:
    """Add a book to that of the trials before, and empty it; its rows over all levels; what befell lifts."""
    book, n_causes = sums.book, sums.book.shape[1]
    for row in range(sums.ledger.shape[0]):
        for cause in range(n_causes):
            sums.ledger[row, cause] = 0
    for spot in range(book.shape[0]):
        row = spot // sums.n_levels
        for cause in range(n_causes):
            minutes = book[spot, cause]
            if minutes != 0 and row < sums.ledger.shape[0]:
                sums.ledger[row, cause] += minutes
                sums.total[spot, cause] += minutes
            book[spot, cause] = 0
    sums.lifts[0] = sums.lifts[1] = 0
    for step in range(len(sums.caught)):
        if sums.is_lift[step]:
            sums.lifts[0] += sums.caught[step]
            sums.lifts[1] += sums.past_shift[step]
        sums.caught[step] = sums.past_shift[step] = False


sums_at = at_addresses(SumArrays)


def _stamped(stamp: int) -> Callable[[Any], bool]:
    """The entry, with the stamp of the sources that it is compiled from."""

    def do_sums(table: Any) -> bool:
        """Lay out, sort or add up, as the table says."""
        sums = sums_at(table)
        if sums.what == LAY_OUT:
            lay_out(sums)
        elif sums.what == SORT:
            sort_events(sums)
        else:
            add_up(sums)
        return stamp >= 0

    return trial_entry(do_sums)


do_sums = _stamped(stamp_of_sources(Path(arrays_module.__file__), Path(__file__)))


class LedgerBlock:
    """The ledgers of the trials of a block.

    ledger : (size, n_rows, n_causes) of each trial. [min]
    total : (n_rows, n_levels, n_causes) of all of them. [min]
    lifts : (size, 2) how many lifts weather caught, and how many ran past their shift. [-]
    All are lent until the next block is played.
    """

    def __init__(self, ledger: Ledger, block: Block) -> None:
        self._of, self._block = ledger.parts, block
        n_rows, n_levels, n_causes = len(ledger.rows), len(ledger.tower.levels), len(ledger.causes)
        self.ledger = np.zeros((block.size, n_rows, n_causes), dtype=np.int64)
        self.lifts = np.zeros((block.size, 2), dtype=np.int64)
        self._total = np.zeros((n_rows * n_levels, n_causes), dtype=np.int64)
        self.total = self._total.reshape(n_rows, n_levels, n_causes)
        self._lay_out(n_levels)
        block.read_by(self._calls)

    def begin(self) -> None:
        """Forget the sums of the block before."""
        self._total[:] = 0

    def _lay_out(self, n_levels: int) -> None:
        parts, plan = self._of, self._block.plan
        first_take, first_give = parts.events
        n = first_take[-1]
        events, level_free, one, other = np.zeros((4, n), dtype=np.int64)
        caught, past_shift = np.zeros((2, plan.n), dtype=np.bool_)
        book = np.zeros((len(self._total) + 1, self.ledger.shape[2]), dtype=np.int64)
        shared = {"end_event": first_give.copy(), "events": events}
        shared |= {"caught": caught, "past_shift": past_shift}
        work_read = np.zeros(plan.n, dtype=np.int32)
        self._in_split = shared | {"level_free": level_free, "waiting": book, "doing": book}
        self._in_split |= {"steps.work": work_read, "row": parts.spot}
        self._in_split |= {"work_cause": parts.work_cause}
        self._sums = Laid(
            SumArrays(
                what=LAY_OUT,
                work=self._block.work[0],
                work_read=work_read,
                first_take=first_take,
                first_give=first_give,
                pool_of=np.repeat(np.arange(len(first_take) - 1), np.diff(first_take)).astype(np.int32),
                one=one,
                other=other,
                counts=np.zeros(DIGITS, dtype=np.int64),
                digits=-(-int(plan.horizon).bit_length() // DIGIT_BITS),
                book=book,
                n_levels=n_levels,
                ledger=self.ledger[0],
                total=self._total,
                is_lift=parts.is_lift,
                lifts=self.lifts[0],
                **shared,
            )
        )

    def _calls(self, k: int) -> Calls:
        """What is called behind trial k."""
        block = self._block
        stamps = {name: block.of(name, k) for name in ("ready", "started", "finished")}
        in_split = self._in_split | {f"steps.{name}": values for name, values in stamps.items()}
        in_split |= {"steps.skip": block.skip[k]} | block.in_windows(k)
        split = self._of.split.but(in_split)
        gaps = {"book": self._in_split["waiting"], "ready": block.ready[k], "finished": block.finished[k]}
        own = {"work": block.work[k], "ledger": self.ledger[k], "lifts": self.lifts[k]}
        lay_out, sort, add_up = (self._sums.but({"what": k, **own}) for k in (LAY_OUT, SORT, ADD_UP))
        return (
            (do_sums, lay_out),
            (note_all, split),
            (do_sums, sort),
            (split_all, split),
            (book_gaps, self._of.gaps.but(gaps)),
            (do_sums, add_up),
        )
