"""Rows of uncertain numbers, each at its place in a stream and read off its own spread, drawn in one call.

A site has dozens of spreads, most of them for a few numbers only; drawn and looked up one by one, the calls
cost more than the arithmetic.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
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


class _Places:
    """Where the lots of some runs come from: n places, those of run k from first[k] on."""

    def __init__(self, items: Sequence[Ints]) -> None:
        self.first = np.cumsum([0, *map(len, items)])
        self.item = np.concatenate([np.empty(0, np.int32), *items], dtype=np.int32, casting="same_kind")
        self.n = len(self.item)

    def of(self, run: int) -> slice:
        """The places of a run in the row."""
        return slice(int(self.first[run]), int(self.first[run + 1]))


class Row:
    """Runs side by side: the first for the first numbers of a row, and so on.

    Gives the very numbers of numpy's generators and of `Spread.quantile`, bit by bit.
    """

    def __init__(self, runs: Sequence[Run]) -> None:
        self._runs, self._places = tuple(runs), _Places([run.items for run in runs])
        self._purposes = tuple(dict.fromkeys(run.purpose for run in runs if run.purpose is not None))
        self._spreads = {k: run.spread for k, run in enumerate(runs) if run.spread is not None}
        self._others = {k: spread for k, spread in self._spreads.items() if _kind(spread) == AS_DRAWN}

    def drawn(self, streams: Streams) -> Floats:
        """Values of one trial, (n,)."""
        return self._drawn(streams, self._places)

    def picked(self, streams: Streams, items: Ints, *, runs: Ints) -> Floats:
        """Values of items chosen in this trial, (k,); runs : (k,) as whose lots they are drawn."""
        order = np.argsort(runs, kind="stable")
        ends = np.searchsorted(runs[order], np.arange(1, len(self._runs)))
        places, values = _Places(np.split(items[order], ends)), np.empty(len(items))
        values[order] = self._drawn(streams, places)
        return values

    def quantile(self, u: Floats) -> Floats:
        """Values at the probabilities of a row, (n,); u from 0 to 1. [-]"""
        values, places = u.copy(), self._places
        if numba() is None:
            return _read(values, places, self._spreads)
        draw_row(self._table_at_hand, NO_KEYS, 0, values)
        return _read(values, places, self._others)

    def _drawn(self, streams: Streams, places: _Places) -> Floats:
        if numba() is None or not isinstance(streams, Counted):
            return _read(self._as_drawn(streams, places), places, self._spreads)
        values, table = np.empty(places.n), self._table
        if places is not self._places:
            table = self._laid.but({"first": places.first, "item": places.item})
        draw_row(table, streams.keys(self._purposes), streams.trial, values)
        return _read(values, places, self._others)

    def _as_drawn(self, streams: Streams, places: _Places) -> Floats:
        """Numbers from 0 to 1 of one trial by numpy's generators, (n,). [-]"""
        lengths = dict.fromkeys(self._purposes, 0)
        own = [(run.purpose or "", places.item[places.of(k)]) for k, run in enumerate(self._runs)]
        for purpose, items in own:
            lengths[purpose] = max(lengths[purpose], int(items.max(initial=-1)) + 1)
        lots = {purpose: streams(purpose).random(length) for purpose, length in lengths.items()}
        return np.concatenate([np.empty(0), *(lots[purpose][items] for purpose, items in own)])

    @cached_property
    def _laid(self) -> Laid[RowArrays]:
        return Laid(_arrays_of(self._runs, self._places, self._purposes))

    @cached_property
    def _table(self) -> Ints | RowArrays:
        return self._laid.but({})

    @cached_property
    def _table_at_hand(self) -> Ints | RowArrays:
        self._at_hand = np.full(len(self._runs), AT_HAND)
        return self._laid.but({"stream": self._at_hand})


def _read(values: Floats, places: _Places, spreads: Mapping[int, Spread]) -> Floats:
    """The numbers of a row, those of some runs read off their spreads, in place, (n,)."""
    for run, spread in spreads.items():
        of_run = places.of(run)
        values[of_run] = spread.quantile(values[of_run])
    return values


def _kind(spread: Spread | None) -> int:
    """How compiled code reads a spread; as drawn where it does not know it."""
    return AS_DRAWN if spread is None else KINDS.get(spread.kind, AS_DRAWN)


def _arrays_of(runs: Sequence[Run], places: _Places, purposes: tuple[str, ...]) -> RowArrays:
    """What compiled code reads of some runs."""
    spreads = [run.spread if _kind(run.spread) != AS_DRAWN else None for run in runs]
    params = np.array([_three(spread) for spread in spreads]).reshape(-1, 3)
    heights, first_height = _heights(spreads)
    samples = [spread.params if spread is not None and spread.kind == "samples" else () for spread in spreads]
    lengths = np.array([len(own) for own in samples], dtype=np.int64)
    table = np.where(lengths > 0, np.cumsum(lengths) - lengths, first_height)
    low, likely, high = np.ascontiguousarray(params.T)
    return RowArrays(
        first=places.first,
        item=places.item,
        stream=np.array(
            [AT_HAND if run.purpose is None else purposes.index(run.purpose) for run in runs], np.int64
        ),
        kind=np.array([_kind(run.spread) for run in runs], dtype=np.int64),
        low=low,
        likely=likely,
        high=high,
        table=table.astype(np.int64),
        length=lengths,
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
