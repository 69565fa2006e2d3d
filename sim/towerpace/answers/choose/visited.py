"""Set-ups that have been played, with the trials of each, and which of them is best so far."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Protocol

import numpy as np

from towerpace.answers.choose.allocation import more_trials, shares
from towerpace.answers.choose.goal import Goal, Sample
from towerpace.answers.choose.space import Point
from towerpace.units import Ints

FIRST = 20  # trials of whatever is looked at
SURE_OF = 100  # trials without which nothing is taken for the best
RIVALS = 9  # that get further trials beside the best
MOST = 400  # trials of one set-up in a search


class OutOfTrialsError(Exception):
    """So many trials as may be played are played."""


class Trials(Protocol):
    """Plays set-ups on common draws: trial k of every point is under the same draw."""

    @property
    def spent(self) -> int:
        """Trials asked for so far, in all."""

    def results(self, points: Sequence[Point], upto: Sequence[int], *, fresh: bool) -> list[Sample]:
        """Trials 0 .. upto - 1 of each point; `fresh` ones are under draws of their own."""


class Visited:
    """The points visited, and the trials of each.

    most : trials that may be played in all; beyond them `OutOfTrialsError`. spoilt : points that may not be
    chosen, as they were shown not to do. on_best : told of the best so far.
    """

    def __init__(
        self,
        trials: Trials,
        *,
        most: int,
        on_best: Callable[[Point, Sample], None] = lambda *_: None,
    ) -> None:
        self.trials, self.most, self._on_best = trials, most, on_best
        self.samples: dict[Point, Sample] = {}
        self.spoilt: set[Point] = set()

    @property
    def points(self) -> list[Point]:
        """In the order in which they were visited."""
        return list(self.samples)

    def play(self, upto: Mapping[Point, int]) -> None:
        """Have at least so many trials of each point."""
        wanted = {point: n for point, n in upto.items() if n > self.played(point)}
        if not wanted:
            return
        if self.trials.spent >= self.most:
            raise OutOfTrialsError
        for point, sample in zip(
            wanted, self.trials.results(list(wanted), list(wanted.values()), fresh=False), strict=True
        ):
            self.samples[point] = sample

    def look_at(self, points: Iterable[Point]) -> None:
        """Have the first trials of each point."""
        self.play(dict.fromkeys(points, FIRST))

    def played(self, point: Point) -> int:
        """Trials of a point so far."""
        return len(self.samples[point]) if point in self.samples else 0

    def best_first(self, goal: Goal) -> list[Point]:
        """The points that may be chosen, by what their trials say."""
        ranks = {p: goal.rank(sample) for p, sample in self.samples.items() if p not in self.spoilt}
        return sorted(ranks, key=lambda point: ranks[point])

    def best(self, goal: Goal) -> Point:
        """The best of them by `SURE_OF` trials at least.

        What seems the best by fewer is played again, and so is what would be better if it held, as long as
        its trials leave that open: of many near the border some seem to hold by luck, and some not to.
        """
        while True:
            best = self.best_first(goal)[0]
            doubtful = best if self.played(best) < SURE_OF else self._doubtful(goal, best)
            if doubtful is None:
                self._on_best(best, self.samples[best])
                return best
            self.play({doubtful: min(2 * self.played(doubtful), MOST)})

    def _doubtful(self, goal: Goal, best: Point) -> Point | None:
        """What would be better than the best by its objective, and may hold after all."""
        least = goal.rank(self.samples[best])
        if least[0]:
            return None
        better = {
            point: goal.margin(sample)
            for point, sample in self.samples.items()
            if point not in self.spoilt
            and len(sample) < MOST
            and goal.objective(sample) < least[1]
            and goal.is_doubtful(sample)
        }
        return max(better, key=lambda point: better[point], default=None)

    def allocate(self, goal: Goal, *, more: int) -> None:
        """Give further trials to the best and its rivals, where they tell most of which is the best."""
        active = self.best_first(goal)[: 1 + RIVALS]
        gaps, spreads = np.array([goal.gaps(self.samples[p], self.samples[active[0]]) for p in active]).T
        has = np.array([self.played(point) for point in active])
        spreads[0] = spreads[1:].mean() if len(active) > 1 else 1.0
        upto: Ints = np.minimum(MOST, more_trials(has, shares(gaps, spreads, best=0), more=more))
        self.play({point: int(n) for point, n in zip(active, upto, strict=True)})
