"""From the search to a choice: fresh draws show what it does, and move it on where a neighbour is better."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from towerpace.answers.choose.goal import Goal, Sample
from towerpace.answers.choose.proof import SHOWN, Proof, does, prove
from towerpace.answers.choose.search import Rules, find
from towerpace.answers.choose.space import Point, Space
from towerpace.answers.choose.visited import MOST, OutOfTrialsError, Trials, Visited
from towerpace.draws import stream

ATTEMPTS = 10
NEAR = 5  # of the visited that may be as good, beside the neighbours


@dataclass(frozen=True)
class Decision:
    """What was found.

    proof : of the choice; None where nothing is shown to do what is asked. failed : those that seemed to do
    by the search and are not shown to, in the order of trying. nearest : what comes nearest by the search,
    where nothing is shown. settled : whether the search and the proofs came to their end.
    """

    goal: Goal
    proof: Proof | None
    failed: tuple[Proof, ...]
    nearest: Point
    settled: bool


def decide(
    space: Space,
    goal: Goal,
    trials: Trials,
    *,
    rules: Rules,
    visited: Visited | None = None,
    most: int = MOST,
    say: Callable[[str], None] = lambda _: None,
    on_best: Callable[[Point, Sample], None] = lambda *_: None,
) -> tuple[Decision, Visited]:
    """Search, then show what fresh draws say of what was found.

    visited : of an earlier search of the same space, which goes on. most : fresh trials of one set-up.
    """
    known = Visited(trials, most=rules.most, on_best=on_best) if visited is None else visited
    aim = replace(goal, shown_by=most)
    rng = stream(rules.seed, 0, f"choice of set-ups {goal.due} {goal.budget}")
    best = find(space, aim, known, rules=rules, rng=rng, say=say)
    failed: list[Proof] = []
    for attempt in range(1, ATTEMPTS + 1):
        say(f"proof under fresh draws, {attempt}")
        proof = does(goal, trials, best, most=most)
        if proof.holds:
            rivals = _rivals(space, aim, known, best)
            proof = prove(goal, trials, best, rivals, rules=rules, attempt=attempt, most=most)
            better = [rival.point for rival in proof.better] or _alike(space, trials, proof)
            if not better or attempt == ATTEMPTS:
                return Decision(goal, proof, tuple(failed), best, not proof.better), known
            best = min(better, key=lambda p: _fresh(goal, trials, p, most))
            continue
        failed.append(proof)
        known.spoilt.add(best)
        following = _next(aim, goal, known)
        if following is None:
            break
        best = following
    return Decision(goal, None, tuple(failed), best, settled=True), known


def _rivals(space: Space, goal: Goal, known: Visited, best: Point) -> list[Point]:
    """All neighbours, and of the visited those that come next by the search."""
    neighbours = space.neighbours(best)
    others = [p for p in known.best_first(goal) if p != best and p not in neighbours][:NEAR]
    return [*neighbours, *(p for p in others if goal.rank(known.samples[p])[0] == 0)]


def _alike(space: Space, trials: Trials, proof: Proof) -> list[Point]:
    """Rivals nearer to the file of which every trial is as that of the choice: what changes nothing stays."""
    own, away = proof.sample, space.distance(proof.point, space.standing)
    alike = []
    for rival in proof.rivals:
        (sample,) = trials.results([rival.point], [rival.trials], fresh=True)
        same = np.array_equal(sample.finish, own.finish[: len(sample)]) and np.array_equal(
            sample.cost, own.cost[: len(sample)]
        )
        if same and space.distance(rival.point, space.standing) < away:
            alike.append(rival.point)
    return alike


def _fresh(goal: Goal, trials: Trials, point: Point, most: int) -> float:
    (sample,) = trials.results([point], [most], fresh=True)
    return goal.objective(sample)


def _next(aim: Goal, goal: Goal, known: Visited) -> Point | None:
    """What to try after something that did not do: the best of those that may; None if none may."""
    try:
        best = known.best(aim)
    except OutOfTrialsError:
        best = known.best_first(aim)[0]
    _, high = goal.margin_ends(known.samples[best], tail=SHOWN)
    return best if high >= 0 else None
