"""Many lots of a trial drawn in one call: each at its place in a stream, read off the spread of its run.

A run is a stretch of a row with one stream and one spread. All beta-PERT spreads have the same knots, so one
guide finds the place of every number among them, whatever its spread.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from math import sqrt
from pathlib import Path
from typing import Annotated, Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from towerpace.compiling.addresses import at_addresses
from towerpace.compiling.jit import COUNTERS, FLOATS, FLOATS_2, inline_part, part, stamp_of, trial_entry
from towerpace.lots.philox import WORDS, write_block
from towerpace.lots.streams import Counters
from towerpace.units import Floats, Ints

# How a run reads its numbers: as they are, or off a table of knots, samples or the sides of a triangle.
AS_DRAWN, CONSTANT, PERT, TRIANGULAR, SAMPLES = range(5)
AT_HAND = -1  # stream of a run whose numbers are at hand
BUCKETS = 1 << 12
SOURCES = tuple(sorted(Path(__file__).parent.glob("*.py")))


class RowArrays(NamedTuple):
    """What compiled code reads of a row of n lots in some runs.

    first, first_block : (n_runs + 1,) first lot and first block of each run.
    block : (n_blocks,) numbers of blocks of the stream.
    slot : (n,) place of the number of each lot among those of the blocks of its run.
    stream : (n_runs,) row of the counters, or `AT_HAND`.
    kind : (n_runs,) how its numbers are read. low, likely, high : (n_runs,) of the spread.
    table : (n_runs,) first row of the heights, or first of the samples. length : (n_runs,) samples.
    knots : (n_knots,) probabilities. guide : (BUCKETS + 1,) `guide_to` them.
    heights : (n_tables * n_knots, 2) value at each knot, and slope behind it.
    samples : of all runs, one after the other.
    """

    first: Ints
    first_block: Ints
    block: NDArray[np.int32]
    slot: NDArray[np.int32]
    stream: Ints
    kind: Ints
    low: Floats
    likely: Floats
    high: Floats
    table: Ints
    length: Ints
    knots: Floats
    guide: NDArray[np.int16]
    heights: Annotated[Floats, 2]
    samples: Floats


@lru_cache(maxsize=2)
def guide_to(knots: bytes) -> NDArray[np.int16]:
    """Last knot but one, or below it, that is not above the start of each bucket of probabilities.

    knots : (n_knots,) as bytes. Of all probabilities 8 % lie behind another knot of their bucket.
    """
    places = np.frombuffer(knots)
    starts = np.arange(BUCKETS + 1) / BUCKETS
    return np.minimum(np.searchsorted(places, starts, side="right") - 1, len(places) - 2).astype(np.int16)


@inline_part
def draw_numbers(row: RowArrays, run: int, counter: Any, room: Floats, out: Floats) -> None:
    """The numbers of a run, (k,): first all blocks that they come from, then each number from its place.

    To look lot by lot whether its block is at hand would cost more than the numbers.
    """
    first_block, first = row.first_block[run], row.first[run]
    words = counter[0], counter[1], counter[2]
    for place in range(row.first_block[run + 1] - first_block):
        write_block(words, row.block[first_block + place], room, WORDS * place)
    for lot in range(row.first[run + 1] - first):
        out[lot] = room[row.slot[first + lot]]


@inline_part
def read_off_knots(row: RowArrays, run: int, k: int, out: Floats) -> None:
    """Values of a beta-PERT spread in the place of probabilities, (k,)."""
    low, span, table = row.low[run], row.high[run] - row.low[run], row.table[run]
    knots, guide, heights = row.knots, row.guide, row.heights
    last = len(knots) - 1
    for lot in range(k):
        u = out[lot]
        knot = int(guide[int(u * BUCKETS)])
        while knot < last and u >= knots[knot + 1]:
            knot += 1
        unit = heights[table + knot, 1] * (u - knots[knot]) + heights[table + knot, 0]
        out[lot] = low + span * unit


@inline_part
def read_off_triangle(row: RowArrays, run: int, k: int, out: Floats) -> None:
    """Values of a triangular spread in the place of probabilities, (k,)."""
    low, likely, high = row.low[run], row.likely[run], row.high[run]
    for lot in range(k):
        u = out[lot]
        if u * (high - low) < likely - low:
            out[lot] = low + sqrt(u * ((high - low) * (likely - low)))
        else:
            out[lot] = high - sqrt((1 - u) * ((high - low) * (high - likely)))


@inline_part
def read_off_samples(row: RowArrays, run: int, k: int, out: Floats) -> None:
    """Values of the straight-line quantile function of samples in the place of probabilities, (k,)."""
    first, last = row.table[run], row.length[run] - 1
    for lot in range(k):
        place = out[lot] * last
        below = min(int(place), last - 1)
        start = row.samples[first + below]
        out[lot] = start + (place - below) * (row.samples[first + below + 1] - start)


@part
def read_off(row: RowArrays, run: int, k: int, out: Floats) -> None:
    """Values of the spread of a run in the place of probabilities, (k,)."""
    kind = row.kind[run]
    if kind == PERT:
        read_off_knots(row, run, k, out)
    elif kind == TRIANGULAR:
        read_off_triangle(row, run, k, out)
    elif kind == SAMPLES:
        read_off_samples(row, run, k, out)
    elif kind == CONSTANT:
        for lot in range(k):
            out[lot] = row.low[run]


@part
def draw_run(row: RowArrays, run: int, counter: Any, room: Floats, out: Floats) -> None:
    """The lots of one run, (k,); room : as long as its blocks, to work in."""
    draw_numbers(row, run, counter, room, out)
    read_off(row, run, row.first[run + 1] - row.first[run], out)


row_at = at_addresses(RowArrays)


def _stamped(stamp: int) -> Callable[[Any, Counters, Floats, Floats], bool]:
    """The entry, with the stamp of the sources that it is compiled from."""

    def draw_row(table: Any, counters: Counters, room: Floats, out: Floats) -> bool:
        """Draw all lots of a row in some trials, (n_trials, n); counters : (n_trials, n_streams, 3)."""
        row = row_at(table)
        for run in range(len(row.kind)):
            first, stream = row.first[run], row.stream[run]
            for trial in range(len(out)):
                lots = out[trial, first:]
                if stream == AT_HAND:
                    read_off(row, run, row.first[run + 1] - first, lots)
                else:
                    draw_run(row, run, counters[trial, stream], room, lots)
        return stamp >= 0

    return trial_entry(draw_row, COUNTERS, FLOATS, FLOATS_2)


draw_row = _stamped(stamp_of(*SOURCES))
