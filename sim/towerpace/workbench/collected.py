"""Trials as they come from the players, put in order from the first."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from towerpace.units import Ints
from towerpace.workbench.messages import Hours, Values

SHOWN_AT = (20, 50, 100, 200, 400, 1000, 2000)  # numbers of trials with which the page is told


class Collected:
    """Trials of one scenario.

    n : trials from the first up to the first that is missing.

    Examples
    --------
    >>> trials = Collected()
    >>> trials.add({0: {"finish": np.array(90)}, 2: {"finish": np.array(80)}})
    >>> trials.n
    1
    >>> trials.add({1: {"finish": np.array(85)}})
    >>> trials.first(3)["finish"]
    array([90, 85, 80])
    """

    def __init__(self) -> None:
        self._values: dict[int, Values] = {}
        self._hours: dict[int, Hours] = {}
        self.n = 0

    def add(self, values: Mapping[int, Values]) -> None:
        """Take trials by number."""
        self._values.update(values)
        while self.n in self._values:
            self.n += 1

    def add_hours(self, player: int, hours: Hours) -> None:
        """Take the hours of a player's trials, in place of those it told before."""
        self._hours[player] = hours

    def first(self, n: int) -> dict[str, Ints]:
        """The first n trials, each array (n, ...); there are so many."""
        names = self._values[0]
        return {name: np.stack([self._values[k][name] for k in range(n)]) for name in names}

    def trial_at(self, p: float) -> int:
        """The trial of rank ceil(n p) by its finish, of those from the first up to the first missing."""
        finish = self.first(self.n)["finish"]
        rank = max(1, int(np.ceil(self.n * p - 1e-9)))  # as a percentile takes it
        return int(np.argsort(finish, kind="stable")[rank - 1])

    def hours(self, players: int) -> Hours | None:
        """Minutes over the trials of all players together, None until each has told its own."""
        if len(self._hours) < players:
            return None
        every = list(self._hours.values())
        total = sum((own.minutes for own in every[1:]), every[0].minutes)
        first = every[0]
        return Hours(
            first.series,
            first.edition,
            first.of_file,
            sum(own.trials for own in every),
            total,
            first.rows,
            first.causes,
        )


def shown_now(n: int, *, before: int, upto: int) -> int | None:
    """With how many of n trials the page is told, having been told with so many before; None if not now.

    >>> [shown_now(n, before=20, upto=200) for n in (49, 57, 130, 200)]
    [None, 50, 100, 200]
    """
    marks = [mark for mark in (*SHOWN_AT, upto) if before < mark <= min(n, upto)]
    return max(marks, default=None)
