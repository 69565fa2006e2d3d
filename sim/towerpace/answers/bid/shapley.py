"""The mean share of each source over the orders in which sources may come: what they do together, shared out.

In an order each source has what it adds to those before it; over all orders the mean is the Shapley value.
The shares add up to the whole in every order. There are too many orders to play, so some are sampled.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from towerpace.draws import stream

Order = tuple[str, ...]


@dataclass(frozen=True)
class Share:
    """Mean of what a source adds over the sampled orders, and its standard error, None with one. [d]

    error : of the sampling of orders alone: all orders are played on the same draws.
    """

    source: str
    mean: float
    error: float | None


def sampled_orders(sources: Sequence[str], n: int, *, seed: int) -> list[Order]:
    """So many orders, each as likely as any other; the same for the same seed.

    >>> sorted(sampled_orders(("wind", "pace"), 1, seed=1)[0])
    ['pace', 'wind']
    """
    return [tuple(stream(seed, k, "order of sources").permutation(list(sources)).tolist()) for k in range(n)]


def groups_of(orders: Sequence[Order]) -> list[frozenset[str]]:
    """Every group of sources that some order needs, each once: its beginnings, but for none and for all."""
    groups = (frozenset(order[:k]) for order in orders for k in range(1, len(order)))
    return list(dict.fromkeys(groups))


def shares(orders: Sequence[Order], worth: Callable[[frozenset[str]], float]) -> list[Share]:
    """Mean and standard error of what each source adds over some orders.

    worth : days of a group of sources; none and all of them are asked for too. [d]

    Notes
    -----
    The mean of marginal contributions over permutations drawn with equal chances, ApproShapley.
    Source: Castro, Gomez & Tejada (2009), Polynomial calculation of the Shapley value based on sampling,
    Computers & Operations Research 36(5): 1726-1730 (from memory).
    """
    added: dict[str, list[float]] = {source: [] for source in sorted(orders[0])}
    for order in orders:
        for k, source in enumerate(order):
            added[source].append(worth(frozenset(order[: k + 1])) - worth(frozenset(order[:k])))
    return [_share(source, np.array(days)) for source, days in added.items()]


def _share(source: str, days: np.ndarray) -> Share:
    error = float(days.std(ddof=1) / len(days) ** 0.5) if len(days) > 1 else None
    return Share(source, float(days.mean()), error)
