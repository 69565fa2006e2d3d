"""Slips of the structure once the site runs: those that agree with when levels were seen to be handed over.

A sheet tells that a level came since the sheet before, not on which day. So the slip so far is drawn as well,
given the spans of all levels and that the next one has not come. Taken to have come on the first day of its
span, every later level would be expected days too early.

Method: levels are a chain, each late as the one below it and by a slip of its own; the chance of all that was
seen of later levels is summed backwards over a grid of days, and trials are drawn forwards (Rabiner 1989,
Proc. IEEE 77:257-286, section III, from memory).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import NamedTuple

import numpy as np

from towerpace.scenario.spreads import Spread
from towerpace.units import DAY_MIN, Flags, Floats, Ints

# Nothing is quite as sure as stated: one slip in a hundred is of a wide law (Cauchy), which decides only
# where the stated one leaves nothing. Invented.
WIDE_SHARE, WIDE_D = 0.01, 7.0
FINEST_D, MOST_CELLS = 1 / 48, 4096
MARGIN_D = 3.0
ATOMS = 4096  # values that stand for a spread
GOLDEN = (
    5**0.5 - 1
) / 2  # steps of it fill the range from 0 to 1 evenly, in no order (Weyl 1916, from memory)


@dataclass(frozen=True)
class Delay:
    """A risk that makes a level and all above it late.

    risk : its name. level : number of the first level that it makes late. chance : that it befalls. [-]
    size : of the delay. [d]
    """

    risk: str
    level: int
    chance: float
    size: Spread


class Slips(NamedTuple):
    """What a level may slip by against the one below: days in ascending order, and how likely, (n,) each."""

    days: Floats
    chances: Floats


@dataclass(frozen=True)
class Span:
    """When a level was handed over: within these minutes, both included; `last` is None if it was not yet.

    planned : minute at which it was due. [min]  slips : what its own slip may be.
    """

    first: int
    last: int | None
    planned: int
    slips: Slips


@dataclass(frozen=True, eq=False)
class SlipsSeen:
    """Draws the slips of the levels that were handed over.

    spans : of the levels from the lowest up; the last one may be that of the level which has not come.
    on_days : when a level is handed over that is ready at some minutes. [min]
    reach : for how many minutes that puts it off at most.
    """

    spans: Sequence[Span]
    on_days: Callable[[Ints, int], Ints]
    reach: int = 0

    def drawn(self, u: Floats) -> Floats:
        """Slip of each level that was handed over, (k,), at one number from 0 to 1 for each. [d]

        A number further up never gives an earlier level, whatever was seen.
        """
        late, slips = 0.0, []
        for number in range(len(self._come)):
            slip = self._slip(number, late, float(u[number]))
            slips.append(slip)
            late += slip
        return np.array(slips)

    def _slip(self, number: int, late: float, u: float) -> float:
        """Slip of a level after one that was so late. [d]"""
        n, (first, last) = len(self._grid), self._where[number]
        at = int(np.clip(round((late - float(self._grid[0])) / self._cell_d), 0, n - 1))
        shift = n - 1 - at
        sums = np.cumsum(self._steps[number][shift + first : shift + last] * self._later[number][first:last])
        place = u * sums[-1]
        cell = min(int(np.searchsorted(sums, place, side="right")), last - first - 1)
        below = sums[cell - 1] if cell else 0.0
        part = float((place - below) / max(sums[cell] - below, np.finfo(float).tiny))
        slip = self._within(self.spans[number].slips.days, shift + first + cell, min(part, 1.0))
        return self._kept_in(self._come[number], late + slip) - late

    def _within(self, days: Floats, cell: int, part: float) -> float:
        """A slip of some cell: one that is stated, if there is any. part : of the cell, from 0 to 1. [d]"""
        since, until = np.searchsorted(days, self._edges[cell : cell + 2])
        if since == until:
            return float(self._edges[cell] + part * self._cell_d)
        return float(days[min(since + int(part * (until - since)), until - 1)])

    @cached_property
    def _come(self) -> list[Span]:
        return [span for span in self.spans if span.last is not None]

    @cached_property
    def _grid(self) -> Floats:
        """Days that a level may be late in all, (n,), at the middle of each cell. [d]"""
        low = min(0, *(span.first - self.reach - span.planned for span in self._come)) / DAY_MIN - MARGIN_D
        high = max(0, *((span.last or 0) - span.planned for span in self._come)) / DAY_MIN + MARGIN_D
        cell = max(FINEST_D, (high - low) / MOST_CELLS)
        return cell * np.arange(np.floor(low / cell), np.ceil(high / cell) + 1)

    @cached_property
    def _cell_d(self) -> float:
        return float(self._grid[1] - self._grid[0])

    @cached_property
    def _agrees(self) -> list[Flags]:
        """Whether each level, so many days late, would have been handed over when it was, (n,) each."""
        return [self._agree(span) for span in self.spans]

    @cached_property
    def _where(self) -> list[tuple[int, int]]:
        """The cells in which that is so, first and one behind the last, of each level."""
        return [
            (int(np.argmax(agrees)), len(agrees) - int(np.argmax(agrees[::-1]))) for agrees in self._agrees
        ]

    def _agree(self, span: Span) -> Flags:
        """Cells of which a part agrees, (n,)."""
        half = self._cell_d / 2
        since, until = (
            self.on_days(span.planned + np.rint((self._grid + side) * DAY_MIN).astype(np.int64), span.planned)
            for side in (-half, half)
        )
        agrees: Flags = until >= span.first
        return agrees if span.last is None else agrees & (since <= span.last)

    @cached_property
    def _later(self) -> list[Floats]:
        """For each level so many days late the chance of all that was seen of those above, (n,) each.

        Up to a factor.
        """
        from scipy.signal import fftconvolve

        n, later = len(self._grid), [np.ones(len(self._grid))]
        for number in range(len(self.spans) - 1, 0, -1):
            step = self._steps[number]
            chances = fftconvolve(self._agrees[number] * later[0], step[::-1])[n - 1 : 2 * n - 1]
            if self.spans[number].last is None:  # what lies beyond the grid agrees as well
                gone = fftconvolve((~self._agrees[number]).astype(np.float64), step[::-1])[n - 1 : 2 * n - 1]
                chances = 1 - gone
            later.insert(0, np.maximum(chances, 0) / chances.max())
        return later

    @cached_property
    def _edges(self) -> Floats:
        """Slips between the cells of `_steps`, (2n,). [d]"""
        n = len(self._grid)
        edges: Floats = (np.arange(2 * n, dtype=np.float64) - n + 0.5) * self._cell_d
        return edges

    @cached_property
    def _steps(self) -> list[Floats]:
        """Chance of each slip, by its number of cells from -(n - 1) to n - 1, of every level."""
        steps = []
        for span in self.spans:
            days, chances = span.slips
            usual = np.diff(np.append(0, np.cumsum(chances))[np.searchsorted(days, self._edges)])
            wide: Floats = np.diff(np.arctan((self._edges - chances @ days) / WIDE_D)) / np.pi
            steps.append((1 - WIDE_SHARE) * usual + WIDE_SHARE * wide)
        return steps

    def _kept_in(self, span: Span, late: float) -> float:
        """Days late, such that the level comes within its span; they may fall beside it by part of a cell."""
        minute = span.planned + round(late * DAY_MIN)
        came = int(self.on_days(np.array([minute]), span.planned)[0])
        assert span.last is not None, "asked for only of a level that was handed over"
        if span.first <= came <= span.last:
            return late
        return (min(max(minute, span.first), span.last) - span.planned) / DAY_MIN


@lru_cache(maxsize=64)
def slips_of(slip_days: Spread, delays: tuple[tuple[Delay, bool | None], ...]) -> Slips:
    """What a level may slip by.

    delays : of the risks that make this level late before any other, and whether each befell; None if nobody
    knows.
    """
    u = (np.arange(ATOMS) + 0.5) / ATOMS
    days, chances = slip_days.quantile(u), np.full(ATOMS, 1 / ATOMS)
    for delay, befell in delays:
        chance = delay.chance if befell is None else float(befell)
        places: Floats = np.mod((np.arange(len(days)) + 0.5) * GOLDEN, 1.0)
        sizes = delay.size.quantile(places)
        days = np.concatenate((days, days + sizes))
        chances = np.concatenate(((1 - chance) * chances, chance * chances))
    order = np.argsort(days, kind="stable")
    order = order[chances[order] > 0]
    return Slips(days[order], chances[order])
