"""Rows of uncertain numbers, each at its place in a stream and read off its own spread, drawn in one call.

A site has dozens of spreads, most of them for a few numbers only; drawn and looked up one by one, the calls
cost more than the arithmetic.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from towerpace.compiling.addresses import Laid
from towerpace.compiling.jit import numba
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
from towerpace.lots.streams import Counted, Keys, Streams
from towerpace.scenario.spreads import Spread, pert_heights, pert_knots
from towerpace.units import Floats, Ints

ANY_PERT = (0.0, 0.0, 1.0)
KINDS = {"constant": CONSTANT, "pert": PERT, "triangular": TRIANGULAR, "samples": SAMPLES}
NO_KEYS: Keys = np.zeros((1, 2), dtype=np.uint64)


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
    """Runs side by side: the first for the first numbers of a row, and so on.

    Gives the very numbers of numpy's generators and of `Spread.quantile`, bit by bit.
    """

    def __init__(self, runs: Sequence[Run]) -> None:
        self._runs = list(runs)
        ends = np.cumsum([0, *(len(run.items) for run in runs)])
        self._ends: list[int] = ends.tolist()
        self.n = self._ends[-1]
        self._purposes = tuple(dict.fromkeys(run.purpose for run in runs if run.purpose is not None))

    def drawn(self, streams: Streams) -> Floats:
        """Values of one trial, (n,)."""
        values = np.empty(self.n)
        if numba() is None or not isinstance(streams, Counted):
            lots = {purpose: streams(purpose).random(length) for purpose, length in self._lengths.items()}
            for run, part in zip(self._runs, self._parts(values), strict=True):
                assert run.purpose is not None, "only `quantile` is for numbers at hand"
                u = lots[run.purpose][run.items]
                part[:] = u if run.spread is None else run.spread.quantile(u)
            return values
        draw_row(self._table, streams.keys(self._purposes), streams.trial, values)
        return self._read_in_python(values)

    def quantile(self, u: Floats) -> Floats:
        """Values at the probabilities of a row, (n,); u from 0 to 1. [-]"""
        values = u.copy()
        if numba() is not None:
            draw_row(self._table_at_hand, NO_KEYS, 0, values)
            return self._read_in_python(values)
        for run, part in zip(self._runs, self._parts(values), strict=True):
            if run.spread is not None:
                part[:] = run.spread.quantile(part)
        return values

    def _parts(self, values: Floats) -> list[Floats]:
        return [values[first:end] for first, end in zip(self._ends, self._ends[1:], strict=False)]

    def _read_in_python(self, values: Floats) -> Floats:
        """Those of spreads that compiled code does not know were left as they were drawn."""
        for first, end, spread in self._others:
            values[first:end] = spread.quantile(values[first:end])
        return values

    @cached_property
    def _lengths(self) -> dict[str, int]:
        """How many numbers of each stream are needed, up to the last."""
        lengths = dict.fromkeys(self._purposes, 0)
        for run in self._runs:
            if run.purpose is not None:
                lengths[run.purpose] = max(lengths[run.purpose], int(run.items.max(initial=-1)) + 1)
        return lengths

    @cached_property
    def _others(self) -> list[tuple[int, int, Spread]]:
        spans = zip(self._ends, self._ends[1:], self._runs, strict=False)
        return [
            (first, end, run.spread)
            for first, end, run in spans
            if run.spread is not None and _kind(run.spread) == AS_DRAWN
        ]

    @cached_property
    def _laid(self) -> Laid[RowArrays]:
        return Laid(_arrays_of(self._runs, self._purposes))

    @cached_property
    def _table(self) -> Ints | RowArrays:
        return self._laid.but({})

    @cached_property
    def _table_at_hand(self) -> Ints | RowArrays:
        self._at_hand = np.full(len(self._runs), AT_HAND)
        return self._laid.but({"stream": self._at_hand})


def _kind(spread: Spread | None) -> int:
    """How compiled code reads a spread; as drawn where it does not know it."""
    return AS_DRAWN if spread is None else KINDS.get(spread.kind, AS_DRAWN)


def _arrays_of(runs: Sequence[Run], purposes: tuple[str, ...]) -> RowArrays:
    """What compiled code reads of some runs."""
    spreads = [run.spread if _kind(run.spread) != AS_DRAWN else None for run in runs]
    params = np.array([_three(spread) for spread in spreads]).reshape(-1, 3)
    heights, first_height = _heights(spreads)
    samples = [spread.params if spread is not None and spread.kind == "samples" else () for spread in spreads]
    lengths = np.array([len(own) for own in samples], dtype=np.int64)
    table = np.where(lengths > 0, np.cumsum(lengths) - lengths, first_height)
    low, likely, high = np.ascontiguousarray(params.T)
    return RowArrays(
        first=np.cumsum([0, *(len(run.items) for run in runs)]),
        stream=np.array(
            [AT_HAND if run.purpose is None else purposes.index(run.purpose) for run in runs], np.int64
        ),
        kind=np.array([_kind(run.spread) for run in runs], dtype=np.int64),
        low=low,
        likely=likely,
        high=high,
        table=table.astype(np.int64),
        length=lengths,
        item=np.concatenate([np.empty(0, np.int32), *(run.items for run in runs)], dtype=np.int32),
        knots=pert_knots(),
        guide=guide_to(pert_knots().tobytes()),
        heights=heights,
        samples=np.array([number for own in samples for number in own], dtype=np.float64),
    )


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
