"""Many lots of a trial drawn in one call: each at its place in a stream, read off the spread of its run.

A run is a stretch of a row with one stream and one spread. All beta-PERT spreads have the same knots, so one
guide finds the place of every number among them, whatever its spread.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from pathlib import Path
from typing import Annotated, Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from towerpace.compiling.addresses import at_addresses
from towerpace.compiling.jit import entry, inline_part, stamp_of
from towerpace.lots.philox import WORDS, block, share
from towerpace.lots.streams import Keys
from towerpace.units import Floats, Ints

# How a run reads its numbers: as they are, or off a table of knots, samples or the sides of a triangle.
AS_DRAWN, CONSTANT, PERT, TRIANGULAR, SAMPLES = range(5)
AT_HAND = -1  # stream of a run whose numbers are at hand
BUCKETS = 1 << 14


class RowArrays(NamedTuple):
    """What compiled code reads of a row of n lots in some runs.

    first : (n_runs + 1,) first lot of each run. item : (n,) place in the stream.
    stream : (n_runs,) row of the keys, or `AT_HAND`.
    kind : (n_runs,) how its numbers are read. low, likely, high : (n_runs,) of the spread.
    table : (n_runs,) first row of the heights, or first of the samples. length : (n_runs,) samples.
    knots : (n_knots,) probabilities. guide : (BUCKETS + 1,) `guide_to` them.
    heights : (n_tables * n_knots, 2) value at each knot, and slope behind it.
    samples : of all runs, one after the other.
    """

    first: Ints
    item: NDArray[np.int32]
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

    knots : (n_knots,) as bytes. Of all probabilities 2 % lie behind another knot of their bucket.
    """
    places = np.frombuffer(knots)
    starts = np.arange(BUCKETS + 1) / BUCKETS
    return np.minimum(np.searchsorted(places, starts, side="right") - 1, len(places) - 2).astype(np.int16)


@inline_part
def off_knots(row: RowArrays, run: int, u: float) -> float:
    """Value of a beta-PERT spread at a probability."""
    knot = int(row.guide[int(u * BUCKETS)])
    while knot + 1 < len(row.knots) and u >= row.knots[knot + 1]:
        knot += 1
    at = row.table[run] + knot
    unit = row.heights[at, 1] * (u - row.knots[knot]) + row.heights[at, 0]
    return float(row.low[run] + (row.high[run] - row.low[run]) * unit)


@inline_part
def off_triangle(row: RowArrays, run: int, u: float) -> float:
    """Value of a triangular spread at a probability."""
    low, likely, high = row.low[run], row.likely[run], row.high[run]
    if u * (high - low) < likely - low:
        return float(low + np.sqrt(u * ((high - low) * (likely - low))))
    return float(high - np.sqrt((1 - u) * ((high - low) * (high - likely))))


@inline_part
def off_samples(row: RowArrays, run: int, u: float) -> float:
    """Value of the straight-line quantile function of samples at a probability."""
    last = row.length[run] - 1
    place = u * last
    below = min(int(place), last - 1)
    start = row.samples[row.table[run] + below]
    return float(start + (place - below) * (row.samples[row.table[run] + below + 1] - start))


@inline_part
def value_at(row: RowArrays, run: int, u: float) -> float:
    """What a probability gives in a run."""
    kind = row.kind[run]
    if kind == PERT:
        return off_knots(row, run, u)
    if kind == TRIANGULAR:
        return off_triangle(row, run, u)
    if kind == SAMPLES:
        return off_samples(row, run, u)
    return float(row.low[run]) if kind == CONSTANT else u


@inline_part
def draw_run(row: RowArrays, run: int, key: Keys, trial: Any, out: Floats) -> None:
    """The lots of one run; neighbours in a stream come from one block."""
    known = 0
    words = block(key[0], key[1], trial, known)
    for lot in range(row.first[run], row.first[run + 1]):
        number = row.item[lot] // WORDS
        if number != known:
            words = block(key[0], key[1], trial, number)
            known = number
        place = row.item[lot] % WORDS
        word = words[0] if place == 0 else words[1] if place == 1 else words[2] if place == 2 else words[3]
        out[lot] = value_at(row, run, share(word))


row_at = at_addresses(RowArrays)


def _stamped(stamp: int) -> Callable[[Any, Keys, int, Floats], bool]:
    """The entry, with the stamp of the sources that it is compiled from."""

    def draw_row(table: Any, keys: Keys, trial: int, out: Floats) -> bool:
        """Draw all lots of a row in one trial, (n,); keys : (n_streams, 2)."""
        row = row_at(table)
        third = np.uint64(trial)
        for run in range(len(row.kind)):
            if row.stream[run] == AT_HAND:
                for lot in range(row.first[run], row.first[run + 1]):
                    out[lot] = value_at(row, run, out[lot])
            elif row.first[run] < row.first[run + 1]:
                draw_run(row, run, keys[row.stream[run]], third, out)
        return stamp >= 0

    return entry(draw_row)


draw_row = _stamped(stamp_of(*sorted(Path(__file__).parent.glob("*.py"))))
