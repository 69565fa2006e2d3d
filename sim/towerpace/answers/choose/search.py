"""The search: a start that is screened, a locally convergent random search, scouts, and a race of the last.

First every single change is played on a few common draws, beside changes in pairs and at random, and the
worst are rejected one by one. From the best of them new set-ups are taken at random out of those that lie
nearer to it than to any other, until all its neighbours are known. Scouts then look elsewhere; what they find
better is searched from again, and so are some of the best that lie far from it. Those that trials cannot tell
apart race at the end.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from towerpace.answers.choice.selection import select
from towerpace.answers.choose.allocation import rejecting
from towerpace.answers.choose.goal import Goal
from towerpace.answers.choose.space import Point, Space
from towerpace.answers.choose.visited import FIRST, MOST, OutOfTrialsError, Visited
from towerpace.answers.cost import PARTS
from towerpace.answers.estimates import LATER
from towerpace.units import DAY_MIN, Floats

NEW = 6  # points of a round of the search
ROUNDS = 200
SMALL = 40  # set-ups that are all played
STARTERS = 80  # points of the first screening at the most
SCOUTINGS = 3
STARTS, FAR = 2, 5  # other starts, this part of the whole extent away
SIDE_ROUNDS = 30
RACERS = 12


@dataclass(frozen=True)
class Rules:
    """How a choice is made.

    matters : difference of the objective that matters: money, or days. [unit of the objective] sure : chance
    with which no neighbour is better by that. seed : of what is looked at. most : trials in all.
    """

    matters: float
    sure: float = 0.9
    seed: int = 1
    most: int = 12_000


def find(
    space: Space,
    goal: Goal,
    visited: Visited,
    *,
    rules: Rules,
    rng: np.random.Generator,
    say: Callable[[str], None] = lambda _: None,
) -> Point:
    """The best set-up by the trials of the search; all of them where there are few.

    Raises `OutOfTrialsError` where trials run out before the first look is taken.
    """
    say("first look")
    visited.look_at(_starters(space, rng))
    try:
        say("screening")
        _screen(goal, visited)
        for scouting in range(SCOUTINGS):
            say("search")
            best = _climb(space, goal, visited, rng=rng)
            say("scouts")
            visited.look_at(_scouts(space, best, visited, rng))
            if visited.best(goal) == best and scouting > 0:
                break
        for start in _other_starts(space, goal, visited):
            say("other starts")
            _side_climb(space, goal, visited, start, rng=rng)
        _climb(space, goal, visited, rng=rng)
        say("race")
        _race(goal, visited, rules=rules)
        return visited.best(goal)
    except OutOfTrialsError:
        return visited.best_first(goal)[0]


def _starters(space: Space, rng: np.random.Generator) -> list[Point]:
    """The file, every single change, the ends of all axes, pairs of changes and points at random."""
    if space.product <= SMALL:
        return list(space.all())
    standing = space.standing
    singles = [standing, *_single_changes(space)]
    pairs = [point for a, b in combinations(range(len(space.axes)), 2) for point in _both(space, a, b, rng)]
    wild = [space.anywhere(rng) for _ in range(STARTERS)]
    rest = [pairs[k] for k in rng.permutation(len(pairs))][: STARTERS // 3]
    chosen = dict.fromkeys([*singles[:STARTERS], *_ends(space), *rest])
    return [*chosen, *dict.fromkeys(point for point in wild if point not in chosen)][
        : max(STARTERS, len(chosen))
    ]


def _single_changes(space: Space) -> Iterable[Point]:
    """Every option of every axis alone; of a long ordered axis its ends and its middle."""
    for number, axis in enumerate(space.axes):
        options = range(axis.size)
        few = options if axis.size <= 5 else sorted({0, axis.size // 2, axis.size - 1})
        for option in few:
            moved = space.moved(space.standing, number, option)
            if moved is not None and option != axis.standing:
                yield moved


def _ends(space: Space) -> Iterable[Point]:
    """All ordered axes at their first, and at their last option."""
    for last in (False, True):
        at = space.standing
        for number, axis in enumerate(space.axes):
            if axis.in_order:
                moved = space.moved(at, number, axis.size - 1 if last else 0)
                at = at if moved is None else moved
        yield at


def _both(space: Space, a: int, b: int, rng: np.random.Generator) -> Iterable[Point]:
    at: Point | None = space.standing
    for number in (a, b):
        options = [k for k in range(space.axes[number].size) if k != space.axes[number].standing]
        if at is not None and options:
            at = space.moved(at, number, int(rng.choice(options)))
    if at is not None:
        yield at


def _screen(goal: Goal, visited: Visited) -> None:
    """Reject the worst of the first look, one after the other, with ever more trials for what is left."""
    left = visited.best_first(goal)[:STARTERS]
    for n in rejecting(len(left), budget=len(left) * FIRST):
        if len(left) <= RACERS // 3:
            break
        visited.play(dict.fromkeys(left, min(max(n, FIRST), MOST)))
        ranks = {point: goal.rank(visited.samples[point]) for point in left}
        left.remove(max(left, key=lambda point: ranks[point]))


def _climb(space: Space, goal: Goal, visited: Visited, *, rng: np.random.Generator) -> Point:
    """Search around the best until all its neighbours are known and further trials leave it the best."""
    best = visited.best(goal)
    for _ in range(ROUNDS):
        new = space.promising(best, visited.points, wanted=NEW, rng=rng)
        if not new:
            known = visited.samples
            new = [point for point in space.neighbours(best) if point not in known]
        visited.look_at(new)
        visited.allocate(goal, more=max(FIRST, NEW * FIRST - FIRST * len(new)))
        before, best = best, visited.best(goal)
        if not new and best == before:
            break
    return best


def _other_starts(space: Space, goal: Goal, visited: Visited) -> list[Point]:
    """The best points that lie far from the best and from each other, to search from as well."""
    first, *others = visited.best_first(goal)
    far = sum(axis.size - 1 if axis.in_order else 1 for axis in space.axes) / FAR
    starts = [first]
    for point in others:
        if all(space.distance(point, start) >= far for start in starts):
            starts.append(point)
    return starts[1 : 1 + STARTS]


def _side_climb(
    space: Space, goal: Goal, visited: Visited, start: Point, *, rng: np.random.Generator
) -> None:
    """A search from another start that knows its own points alone, until their best is known all around."""
    own, best = {start: None}, start
    for _ in range(SIDE_ROUNDS):
        new = space.promising(best, list(own), wanted=NEW // 2, rng=rng)
        new = new or [point for point in space.neighbours(best) if point not in own]
        if not new:
            return
        visited.look_at(new)
        own.update(dict.fromkeys(new))
        best = min(own, key=lambda point: goal.rank(visited.samples[point]))
        visited.play({best: 2 * FIRST})


def _scouts(space: Space, best: Point, visited: Visited, rng: np.random.Generator) -> list[Point]:
    """Points at random, and points two steps from the best: units swapped for others."""
    near = dict[Point, None]()
    for point in space.neighbours(best):
        beyond = space.neighbours(point)
        if beyond:
            near[beyond[int(rng.integers(len(beyond)))]] = None
    wild = [space.anywhere(rng) for _ in range(2 * len(space.axes))]
    wanted = 2 * len(space.axes)
    new = [point for point in near if point not in visited.samples][:wanted]
    return [*new, *dict.fromkeys(point for point in wild if point not in visited.samples)]


def _race(goal: Goal, visited: Visited, *, rules: Rules) -> None:
    """Race those that may be the best, dropping what others beat, until one is left or none matters."""
    racers = [p for p in visited.best_first(goal) if goal.rank(visited.samples[p])[0] == 0][:RACERS]
    if len(racers) < 2:
        return
    yardstick = _yardstick(goal, visited, racers[0])
    if yardstick is None:
        return

    def more(which: Iterable[int], a: int, b: int) -> Floats:
        chosen = [racers[k] for k in which]
        visited.play(dict.fromkeys(chosen, b))
        return np.array([yardstick(visited, point)[a:b] for point in chosen])

    select(len(racers), more, zone=rules.matters, confidence=rules.sure, first=FIRST, most=MOST, batch=FIRST)


def _yardstick(goal: Goal, visited: Visited, best: Point) -> Callable[[Visited, Point], Floats] | None:
    """What a trial counts for the objective: money, or days of P80 to first order; None where it cannot.

    Notes
    -----
    A P80 later by d days has fewer trials by then, density times d. So the share of trials by the P80 of the
    best, over the density there, tells days of P80 as a mean of trials.
    Source: Bahadur (1966), Annals of Mathematical Statistics 37: 577-580 (from memory).
    """
    if goal.is_cost:
        return lambda known, point: known.samples[point].cost / PARTS
    days = visited.samples[best].finish / DAY_MIN
    p70, p80, p90 = np.quantile(days, (0.7, 0.8, 0.9))
    if p90 <= p70 or np.any(visited.samples[best].finish == LATER):
        return None
    days_a_share = (p90 - p70) / 0.2
    return lambda known, point: -days_a_share * (known.samples[point].finish / DAY_MIN <= p80)
