"""How far the mean of all items of one kind spreads: less than one item does, where they are independent."""

from __future__ import annotations

from collections import defaultdict

import numpy as np
from numpy.typing import NDArray

from towerpace.answers.prepare import Prepared
from towerpace.plan.laws import Durations, Term, WorkLaw
from towerpace.scenario.spreads import Spread
from towerpace.units import Floats

Z_OF_P90 = 1.2815516
KNOTS = 2000  # equal shares of chance, over which the deviation of one item is taken


def items_of(ready: Prepared, spread: Spread) -> float:
    """Independent items of equal weight that would have a mean as steady as that of all drawn from a spread.

    1 where the spread is drawn once, or under another law than that of minutes.

    Notes
    -----
    (sum w)^2 / (sum w^2), w the minutes that one more minute of an item adds; steps that share an item of one
    stream count as one. Source: Kish (1965), Survey Sampling, section 11.7 (from memory).
    """
    weights: dict[tuple[str, int], float] = defaultdict(float)
    for law in ready.chooser.laws:
        if isinstance(law, Durations):
            _weigh(law, spread, planned=ready.tower.plan.planned, into=weights)
    w = np.array(list(weights.values()))
    squares = float((w**2).sum())
    return max(1.0, float(w.sum()) ** 2 / squares) if squares else 1.0


def _weigh(
    law: Durations, spread: Spread, *, planned: NDArray[np.bool_], into: dict[tuple[str, int], float]
) -> None:
    for work in law.work:
        for place, term in enumerate(work.terms):
            if term.spread is spread:
                _weigh_term(
                    work, term, shares=work.factor * work.weight(place) * planned[work.steps], into=into
                )


def _weigh_term(work: WorkLaw, term: Term, *, shares: Floats, into: dict[tuple[str, int], float]) -> None:
    for item, share in zip(work.items.tolist(), shares.tolist(), strict=True):
        into[term.stream, item] += share


def ends_of_mean(spread: Spread, *, items: float) -> tuple[float, float]:
    """P10 and P90 of the mean of so many independent items, near normal; of one item its own."""
    if items < 2:
        low, high = spread.quantile(np.array([0.1, 0.9]))
        return float(low), float(high)
    values = spread.quantile((np.arange(KNOTS) + 0.5) / KNOTS)
    half = Z_OF_P90 * float(values.std()) / float(np.sqrt(items))
    least, most = float(values[0]), float(values[-1])
    return max(least, spread.mean() - half), min(most, spread.mean() + half)
