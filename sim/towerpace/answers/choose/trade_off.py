"""The trade-off of cost against P80: the set-ups that no other beats at both."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from towerpace.answers.choose.goal import P80, Goal, Sample
from towerpace.answers.choose.search import Rules, find
from towerpace.answers.choose.space import Point, Space
from towerpace.answers.choose.visited import OutOfTrialsError, Trials, Visited
from towerpace.draws import stream
from towerpace.units import DAY_MIN

BETWEEN = 5  # dates between the earliest and the cheapest for which the least cost is looked for
MOST_POINTS = 12
KEPT, BEATEN = "kept", "beaten"


@dataclass(frozen=True)
class OnCurve:
    """A set-up of the trade-off by its fresh trials.

    beaten_by : the one of the same trade-off that is no dearer and no later, and better at one of them; None
    of one that is kept. departs : decisions that depart from the file.
    """

    point: Point
    sample: Sample
    beaten_by: Point | None = None
    departs: int = 0

    @property
    def verdict(self) -> str:
        """Whether it is kept."""
        return KEPT if self.beaten_by is None else BEATEN

    @property
    def place(self) -> tuple[float, float]:
        """Mean cost, and P80 in whole days since the start."""
        return self.sample.mean_cost, np.floor(self.sample.quantile_min(P80) / DAY_MIN)

    @property
    def order(self) -> tuple[float, float, int, Point]:
        """The cheapest first, then the earliest, then the one nearer to the file: no two are equal."""
        return *self.place, self.departs, self.point


def search_all(
    space: Space, visited: Visited, *, rules: Rules, say: Callable[[str], None] = lambda _: None
) -> None:
    """Look for the earliest, for the cheapest, and for the least cost of dates between them.

    Each goes on with what the others have visited, and has its part of the trials.
    """
    most, parts = visited.most, BETWEEN + 2
    goals: list[Goal] = [Goal(), Goal(due=int(np.iinfo(np.int64).max - 1))]
    for number in range(parts):
        if number == 2:
            goals += [Goal(due=due, confidence=P80) for due in _dates(visited, goals)]
        if number >= len(goals):
            break
        visited.most = most * (number + 1) // parts
        rng = stream(rules.seed, number, "trade-off of set-ups")
        try:
            find(space, goals[number], visited, rules=rules, rng=rng, say=_told(say, number + 1, parts))
        except OutOfTrialsError:
            continue
    visited.most = most


def _told(say: Callable[[str], None], number: int, of: int) -> Callable[[str], None]:
    return lambda what: say(f"part {number} of {of} of the trade-off: {what}")


def _dates(visited: Visited, goals: Sequence[Goal]) -> list[int]:
    """Minutes between the P80 of the earliest and that of the cheapest."""
    first, last = (visited.samples[visited.best_first(goal)[0]].quantile_min(P80) for goal in goals)
    if not np.isfinite(first + last) or last - first < 2 * DAY_MIN:
        return []
    return [int(due) for due in np.linspace(first, last, BETWEEN + 2)[1:-1]]


def curve(
    space: Space, visited: Visited, trials: Trials, also: Sequence[Point], *, most: int
) -> tuple[OnCurve, ...]:
    """The trade-off by fresh trials, the cheapest first.

    Those that the search leaves on it are played again, with others besides; what is beaten there is said.
    most : trials of each, the same ones of all, so that two means of the list differ by what the two differ
    trial by trial. Of two alike the one nearer to the file is kept.
    """
    points = list(dict.fromkeys([*also, *_unbeaten(space, visited.samples)]))[: MOST_POINTS + len(also)]
    samples = trials.results(points, [most] * len(points), fresh=True)
    pairs = zip(points, samples, strict=True)
    found = [OnCurve(point, sample, departs=_departs(space, point)) for point, sample in pairs]
    finished = [one for one in found if np.isfinite(one.place).all()]
    judged = [replace(one, beaten_by=_beater(one, finished)) for one in finished]
    return tuple(sorted(judged, key=lambda one: one.order))


def _departs(space: Space, point: Point) -> int:
    """Decisions that depart from the file."""
    return sum(own != standing for own, standing in zip(point, space.standing, strict=True))


def _unbeaten(space: Space, samples: Mapping[Point, Sample]) -> list[Point]:
    """Points that no other beats by the trials of the search, thinned out evenly where they are many."""
    found = [OnCurve(p, sample, departs=_departs(space, p)) for p, sample in samples.items()]
    finished = [one for one in found if np.isfinite(one.place).all()]
    left = sorted((one for one in finished if _beater(one, finished) is None), key=lambda one: one.order)
    if len(left) > MOST_POINTS:
        left = [left[k] for k in np.linspace(0, len(left) - 1, MOST_POINTS).round().astype(int)]
    return [one.point for one in left]


def _beater(one: OnCurve, others: Sequence[OnCurve]) -> Point | None:
    """The first in order that is no dearer and no later than one; of two alike the one nearer to the file."""
    cost, day = one.place
    beating = [o for o in others if o.place[0] <= cost and o.place[1] <= day and o.order < one.order]
    return min(beating, key=lambda other: other.order).point if beating else None
