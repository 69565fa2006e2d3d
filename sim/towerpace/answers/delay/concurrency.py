"""Days that several events cost together: each alone, either of two, and how they are shared."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import factorial
from typing import TypeVar

import numpy as np

from towerpace.units import Floats

Name = TypeVar("Name", bound=Hashable)
MOST_TOGETHER = 6  # events of which all sets are played: 64
Worth = Callable[[frozenset[Name]], Floats]


@dataclass(frozen=True)
class Pair:
    """What two events cost, trial by trial, (n,) each. [d]

    alone, other_alone : what falls to the one, and to the other, and would not have come without it.
    either : what either alone would have cost: it has two causes, each enough. Below 0 they compound:
    together they cost more than one by one.
    both : all of it, which is the sum of the three.
    """

    alone: Floats
    other_alone: Floats
    either: Floats

    @property
    def both(self) -> Floats:
        """What they cost together. [d]"""
        return self.alone + self.other_alone + self.either


def pair(worth: Worth[Name], one: Name, other: Name, *, beside: Iterable[Name] = ()) -> Pair:
    """How the days of two events are shared.

    worth : days of the finish with a set of events, trial by trial, (n,). [d]
    beside : events that stay as they were.

    Notes
    -----
    With f the finish: the one alone f(AB) - f(B), the other alone f(AB) - f(A), either
    f(A) + f(B) - f(AB) - f(0).

    >>> import numpy as np
    >>> late = {(): 20, ("A",): 30, ("B",): 26, ("A", "B"): 30}
    >>> days = pair(lambda of: np.array([late[tuple(sorted(of))]]), "A", "B")
    >>> [int(x[0]) for x in (days.alone, days.other_alone, days.either, days.both)]
    [4, 0, 6, 10]
    """
    rest = frozenset(beside)
    none, a, b, both = (worth(rest | set(some)) for some in ((), (one,), (other,), (one, other)))
    return Pair(both - b, both - a, a + b - both - none)


def subsets(names: Sequence[Name]) -> list[frozenset[Name]]:
    """Every set of some events, none and all too.

    >>> [sorted(some) for some in subsets(("A", "B"))]
    [[], ['A'], ['B'], ['A', 'B']]
    """
    return [frozenset(some) for k in range(len(names) + 1) for some in combinations(names, k)]


def shapley(worth: Worth[Name], names: Sequence[Name]) -> dict[Name, Floats]:
    """What each event adds to those before it: the mean over all orders of them, (n,) each. [d]

    Notes
    -----
    The sum over the sets S without the event of |S|! (n - |S| - 1)! / n! (f(S with it) - f(S)). The shares
    add up to f(all) - f(none). Source: Shapley (1953), A value for n-person games (from memory).

    >>> import numpy as np
    >>> late = {(): 20, ("A",): 30, ("B",): 26, ("A", "B"): 30}
    >>> shares = shapley(lambda of: np.array([late[tuple(sorted(of))]]), ("A", "B"))
    >>> {name: float(days[0]) for name, days in shares.items()}
    {'A': 7.0, 'B': 3.0}
    """
    n, shares = len(names), dict[Name, Floats]()
    for name in names:
        shares[name] = np.zeros_like(worth(frozenset()), dtype=np.float64)
        for some in subsets([other for other in names if other != name]):
            orders = factorial(len(some)) * factorial(n - len(some) - 1)
            shares[name] += orders / factorial(n) * (worth(some | {name}) - worth(some))
    return shares
