"""The quantile functions of many spreads as one, each for its own stretch of a row of probabilities.

A site has dozens of spreads, most of them for a few numbers only; called one by one, the calls cost more than
the arithmetic. All beta-PERT tables have the same knots, so one look-up places every number of the row,
whatever its spread.
"""

from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from towerpace.scenario.spreads import Spread, pert_heights, pert_knots
from towerpace.units import Floats, Ints

BUCKETS = 1 << 16
ANY_PERT = (0.0, 0.0, 1.0)


class SpreadRow:
    """Spreads side by side: the first for the first counts[0] numbers of a row, and so on.

    Gives the very numbers of `Spread.quantile`, bit by bit.
    """

    def __init__(self, spreads: Sequence[Spread], *, counts: Sequence[int]) -> None:
        lengths = np.array(counts, dtype=np.int64)
        ends = np.cumsum(lengths)
        self._others = [
            (slice(end - length, end), spread)
            for spread, length, end in zip(spreads, lengths.tolist(), ends.tolist(), strict=True)
            if spread.kind != "pert"
        ]
        # Stretches of other kinds are looked up as well, in some table, and then written over.
        params = [spread.params if spread.kind == "pert" else ANY_PERT for spread in spreads]
        shares = [(likely - low) / (high - low) for low, likely, high in params]
        tables, knots = list(dict.fromkeys(shares)), pert_knots()
        heights = np.array([pert_heights(share) for share in tables]).reshape(-1, len(knots))
        slopes = np.zeros_like(heights)
        slopes[:, :-1] = np.diff(heights) / np.diff(knots)
        self._heights, self._slopes = heights.ravel(), slopes.ravel()
        first = np.array([tables.index(share) * len(knots) for share in shares], dtype=np.int64)
        self._first = np.repeat(first, lengths)
        self._low = np.repeat([low for low, _, _ in params], lengths)
        self._span = np.repeat([high - low for low, _, high in params], lengths)

    def quantile(self, u: Floats) -> Floats:
        """Values at the probabilities of the row, (n,); u from 0 to 1. [-]"""
        knot = knots_below(u)
        beyond = u - pert_knots()[knot]
        knot += self._first
        values: Floats = self._low + self._span * (self._slopes[knot] * beyond + self._heights[knot])
        for stretch, spread in self._others:
            values[stretch] = spread.quantile(u[stretch])
        return values


def knots_below(u: Floats) -> Ints:
    """Number of the last knot that is not above each probability, (n,)."""
    knots = pert_knots()
    below = _guide()[(u * BUCKETS).astype(np.int64)]
    behind = np.flatnonzero(u >= knots[below + 1])
    below[behind] = np.searchsorted(knots, u[behind], side="right") - 1
    return below


@lru_cache(maxsize=1)
def _guide() -> Ints:
    """Last knot but one, or below it, that is not above the start of each bucket of probabilities.

    Of all probabilities 0.6 % lie behind another knot of their bucket; the rest need no search.
    """
    knots = pert_knots()
    starts = np.arange(BUCKETS + 1) / BUCKETS
    return np.minimum(np.searchsorted(knots, starts, side="right") - 1, len(knots) - 2)
