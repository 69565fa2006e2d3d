"""Rows of uncertain numbers, each at its place in a stream and read off its own spread, drawn in one call.

A site has dozens of spreads, most of them for a few numbers only; drawn and looked up one by one, the calls
cost more than the arithmetic. All give the very numbers of numpy's generators and of `Spread.quantile`, bit
by bit; where there is no compiler, these draw them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TypeGuard

import numpy as np

from towerpace.compiling.addresses import Laid
from towerpace.compiling.jit import numba
from towerpace.lots.philox import WORDS
from towerpace.lots.rows import (
    AS_DRAWN,
    AT_HAND,
    CONSTANT,
    PERT,
    SAMPLES,
    TRIANGULAR,
    RowArrays,
    draw_row,
    guide_to,
)
from towerpace.lots.streams import Counted, Counters, Streams, by_trial
from towerpace.scenario.spreads import Spread, pert_heights, pert_knots
from towerpace.units import Floats, Ints

ANY_PERT = (0.0, 0.0, 1.0)
KINDS = {"constant": CONSTANT, "pert": PERT, "triangular": TRIANGULAR, "samples": SAMPLES}
NO_COUNTERS: Counters = np.zeros((1, 1, 3), dtype=np.uint64)
NO_ROOM = np.empty(0)


@dataclass(frozen=True, eq=False)
class Run:
    """Some items of a stream, each with a number of its own.

    items : (k,) places in the stream of a purpose. spread : off which the numbers are read; None for numbers
        from 0 to 1 as they are. purpose : None where the numbers are at hand.
    """

    items: Ints
    spread: Spread | None = None
    purpose: str | None = None


class Row:
    """Runs side by side: the first for the first numbers of a row, and so on."""

    def __init__(self, runs: Sequence[Run]) -> None:
        self._runs = tuple(runs)
        self._purposes = tuple(dict.fromkeys(run.purpose for run in runs if run.purpose is not None))
        ends = np.cumsum([0, *(len(run.items) for run in runs)])
        self._ends, self._n = ends, int(ends[-1])
        places = [slice(a, b) for a, b in zip(ends.tolist(), ends[1:].tolist(), strict=False)]
        spreads = [(at, run.spread) for at, run in zip(places, runs, strict=True)]
        self._places = places
        self._spreads = [(at, spread) for at, spread in spreads if spread is not None]
        self._others = [(at, spread) for at, spread in self._spreads if _kind(spread) == AS_DRAWN]

    def drawn(self, streams: Streams) -> Floats:
        """Values of one trial, (n,), or of many, (n_trials, n)."""
        if not may_count(streams):
            return by_trial(streams, self._drawn_by_numpy)
        counters, room = streams.counters(self._purposes), np.empty(self.room)
        values = np.empty((len(counters), self._n))
        laid = self._laid
        draw_row(laid.table, counters, room, values)
        return _read(values.reshape(*streams.shape, self._n), self._others)

    def by_run(self, streams: Streams) -> list[Floats]:
        """The same run by run, (..., k) each."""
        values = self.drawn(streams)
        return [values[..., places] for places in self._places]

    def _drawn_by_numpy(self, streams: Streams) -> Floats:
        own = [(run.purpose or "", run.items) for run in self._runs]
        return _read(np.concatenate([np.empty(0), *by_numpy(streams, own)]), self._spreads)

    def quantile(self, u: Floats) -> Floats:
        """Values at the probabilities of a row, (..., n); u from 0 to 1. [-]"""
        values = u.copy()
        if numba() is None:
            return _read(values, self._spreads)
        laid = self._laid_at_hand
        draw_row(laid.table, NO_COUNTERS, NO_ROOM, np.atleast_2d(values))
        return _read(values, self._others)

    @property
    def is_compiled(self) -> bool:
        """Whether none of its spreads has to be read in Python."""
        return not self._others

    @property
    def purposes(self) -> tuple[str, ...]:
        """Of its streams, as its arrays number them."""
        return self._purposes

    @cached_property
    def arrays(self) -> RowArrays:
        """What compiled code reads of it."""
        stream = [AT_HAND if run.purpose is None else self._purposes.index(run.purpose) for run in self._runs]
        spreads = [run.spread for run in self._runs]
        return arrays_of(spreads, items=[run.items for run in self._runs], stream=stream)

    @cached_property
    def room(self) -> int:
        """How many numbers the blocks of its longest run hold."""
        return WORDS * int(np.diff(self.arrays.first_block).max(initial=0))

    @cached_property
    def _laid(self) -> Laid[RowArrays]:
        return Laid(self.arrays)

    @cached_property
    def _laid_at_hand(self) -> Laid[RowArrays]:
        return Laid(self.arrays._replace(stream=np.full(len(self._runs), AT_HAND)))


def one_each(spreads: Mapping[str, Spread | None]) -> Row:
    """The first lot of each of some purposes, read off its spread, or as it is drawn."""
    return Row([Run(np.zeros(1, dtype=np.int64), spread, purpose) for purpose, spread in spreads.items()])


def may_count(streams: Streams) -> TypeGuard[Counted]:
    """Whether compiled code may draw from some streams."""
    return isinstance(streams, Counted) and numba() is not None


def by_numpy(streams: Streams, runs: Sequence[tuple[str, Ints]]) -> list[Floats]:
    """Numbers from 0 to 1 of some items of streams, by numpy's generators, each by its purpose, (k,). [-]"""
    lengths: dict[str, int] = {}
    for purpose, items in runs:
        lengths[purpose] = max(lengths.get(purpose, 0), int(items.max(initial=-1)) + 1)
    lots = {purpose: streams(purpose).random(length) for purpose, length in lengths.items()}
    return [lots[purpose][items] for purpose, items in runs]


def _read(values: Floats, spreads: Sequence[tuple[slice, Spread]]) -> Floats:
    """The numbers of a row, those of some places read off their spreads, in place, (..., n)."""
    for places, spread in spreads:
        values[..., places] = spread.quantile(values[..., places])
    return values


def _kind(spread: Spread | None) -> int:
    """How compiled code reads a spread; as drawn where it does not know it."""
    return AS_DRAWN if spread is None else KINDS.get(spread.kind, AS_DRAWN)


def arrays_of(spreads: Sequence[Spread | None], *, items: Sequence[Ints], stream: Sequence[int]) -> RowArrays:
    """What compiled code reads of some runs; items : of each run. stream : as of `RowArrays`."""
    blocks, slots = _blocks_of(items)
    known = [spread if _kind(spread) != AS_DRAWN else None for spread in spreads]
    low, likely, high = np.ascontiguousarray(np.array([_three(spread) for spread in known]).reshape(-1, 3).T)
    heights, first_height = _heights(known)
    samples = [spread.params if spread is not None and spread.kind == "samples" else () for spread in known]
    lengths = np.array([len(own) for own in samples], dtype=np.int64)
    return RowArrays(
        first=np.cumsum([0, *map(len, items)]),
        first_block=np.cumsum([0, *map(len, blocks)]),
        block=np.concatenate([np.empty(0, dtype=np.int64), *blocks]).astype(np.int32),
        slot=np.concatenate([np.empty(0, dtype=np.int64), *slots]).astype(np.int32),
        stream=np.array(stream, dtype=np.int64),
        kind=np.array([_kind(spread) for spread in spreads], dtype=np.int64),
        low=low,
        likely=likely,
        high=high,
        table=np.where(lengths > 0, np.cumsum(lengths) - lengths, first_height),
        length=lengths,
        knots=pert_knots(),
        guide=guide_to(pert_knots().tobytes()),
        heights=heights,
        samples=np.array([number for own in samples for number in own], dtype=np.float64),
    )


def _blocks_of(items: Sequence[Ints]) -> tuple[list[Ints], list[Ints]]:
    """Of each run the blocks that its numbers come from, and the place of each number among theirs."""
    pairs = [np.unique(own // WORDS, return_inverse=True) for own in items]
    slots = [WORDS * which + own % WORDS for (_, which), own in zip(pairs, items, strict=True)]
    return [blocks for blocks, _ in pairs], slots


def _three(spread: Spread | None) -> tuple[float, float, float]:
    """Lowest, likely and highest value where a spread is said by them; one number for a certain one."""
    if spread is None or spread.kind == "samples":
        return ANY_PERT
    low, likely, high = spread.params * 3 if spread.kind == "constant" else spread.params
    return low, likely, high


def _heights(spreads: Sequence[Spread | None]) -> tuple[Floats, Ints]:
    """Tables of all shapes of beta-PERT, (n_tables * n_knots, 2); first row of each run's, (n_runs,)."""
    knots = pert_knots()
    shares = [_share(spread) for spread in spreads]
    tables = list(dict.fromkeys(shares))
    heights = np.zeros((len(tables), len(knots), 2))
    for table, share in zip(heights, tables, strict=True):
        table[:, 0] = pert_heights(share)
        table[:-1, 1] = np.diff(table[:, 0]) / np.diff(knots)
    first = np.array([tables.index(share) * len(knots) for share in shares], dtype=np.int64)
    return heights.reshape(-1, 2), first


def _share(spread: Spread | None) -> float:
    """Where the likely value lies between lowest and highest; any for a spread of another kind. [-]"""
    low, likely, high = spread.params if spread is not None and spread.kind == "pert" else ANY_PERT
    return (likely - low) / (high - low)
