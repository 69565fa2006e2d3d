"""Random cases for tests: drawn from a number, so that the same number gives the same case for ever.

A case is made in a fraction of a millisecond, so that a test affords thousands; small ones come first and
again and again, so that the first number that fails is a case which a person can read.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from random import Random
from typing import TypeVar

T = TypeVar("T")
Decorator = Callable[[Callable[[T], None]], Callable[[], None]]
LARGEST = 12


class Dice:
    """What a maker of random cases asks for.

    Attributes
    ----------
    size : how much of everything there may be, 1 to 12: it grows with the number and begins anew.
    """

    def __init__(self, number: int) -> None:
        self._random = Random(number)
        self.size = 1 + number % LARGEST

    def coin(self) -> bool:
        """True or false, as often."""
        return self._random.random() < 0.5

    def whole(self, low: int, high: int) -> int:
        """A whole number from `low` to `high`, both included."""
        return self._random.randint(low, high)

    def of(self, values: Sequence[T]) -> T:
        """One of the values; what shall come more often stands there more often."""
        return values[int(self._random.random() * len(values))]

    def some(self, values: Sequence[T], *, most: int) -> list[T]:
        """Up to `most` of the values, each at most once, in any order."""
        return self._random.sample(values, self.whole(0, min(most, len(values))))

    def shuffle(self, values: list[T]) -> None:
        """Put the values into another order, in place."""
        self._random.shuffle(values)


def on_random(
    make: Callable[[Dice], T], *, cases: int
) -> Callable[[Callable[[T], None]], Callable[[], None]]:
    """A test of one case, played on as many as asked; a failure names the number of its case."""

    def decorate(test: Callable[[T], None]) -> Callable[[], None]:
        def play() -> None:
            for number in range(cases):
                case = make(Dice(number))
                try:
                    test(case)
                except Exception as fault:
                    fault.add_note(f"case {number}: {make.__name__}(Dice({number}))")
                    raise

        play.__name__, play.__doc__, play.__module__ = test.__name__, test.__doc__, test.__module__
        return play

    return decorate
