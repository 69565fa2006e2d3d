"""What fresh draws show of a choice: that it does what is asked, and that no neighbour is much better.

The draws had no part in the search, so what they say is not flattered by it. Trials grow by looks; the chance
of an error is shared out over neighbours, looks and the choices that were tried before.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from towerpace.answers.choose.goal import Goal, Sample
from towerpace.answers.choose.search import Rules
from towerpace.answers.choose.space import Point
from towerpace.answers.choose.visited import Trials

LOOKS = (50, 100, 200, 400)  # trials of a neighbour
SHOWN = 0.025  # chance that a set-up which does not do is shown to
BETTER, NOT_BETTER, LACKING, OPEN = "better", "not better", "lacking", "open"


@dataclass(frozen=True)
class Rival:
    """A set-up held against the choice under fresh draws.

    state : better, not better by what matters, lacking what is asked, or open. trials : behind it.
    """

    point: Point
    state: str
    trials: int


@dataclass(frozen=True)
class Proof:
    """What was shown of a choice.

    sample : fresh trials of it. holds : whether it is shown to do what is asked. rivals : held against it.
    """

    point: Point
    sample: Sample
    holds: bool
    rivals: tuple[Rival, ...] = ()

    @property
    def better(self) -> tuple[Rival, ...]:
        """Rivals that are shown to be better."""
        return tuple(rival for rival in self.rivals if rival.state == BETTER)

    @property
    def open(self) -> tuple[Rival, ...]:
        """Rivals that the trials do not tell from it."""
        return tuple(rival for rival in self.rivals if rival.state == OPEN)


def does(goal: Goal, trials: Trials, point: Point, *, most: int) -> Proof:
    """Whether fresh draws show that a set-up does what is asked."""
    (sample,) = trials.results([point], [most], fresh=True)
    low, _ = goal.margin_ends(sample, tail=SHOWN)
    return Proof(point, sample, low >= 0)


def prove(
    goal: Goal,
    trials: Trials,
    point: Point,
    rivals: Sequence[Point],
    *,
    rules: Rules,
    attempt: int,
    most: int,
) -> Proof:
    """Hold rivals against a choice, at ever more fresh trials, until each is told from it.

    attempt : choices that were tried, this one among them. most : trials of each.

    Notes
    -----
    Each statement is wrong with a chance of (1 - sure) 6 / (pi attempt)^2 / (rivals looks) at most, so all of
    them hold with the chance `sure` (Bonferroni).
    """
    proof = does(goal, trials, point, most=most)
    looks = sorted({min(look, most) for look in LOOKS} | {most})
    tail = (1 - rules.sure) * 6 / (np.pi * attempt) ** 2 / max(1, 2 * len(rivals) * len(looks))
    told: dict[Point, Rival] = {}
    for look in looks:
        left = [rival for rival in rivals if rival not in told]
        for rival, sample in zip(left, trials.results(left, [look] * len(left), fresh=True), strict=True):
            state = _state(goal, sample, proof.sample.first(look), rules=rules, tail=tail)
            if state != OPEN or look == looks[-1]:
                told[rival] = Rival(rival, state, look)
    return Proof(point, proof.sample, proof.holds, tuple(told[rival] for rival in rivals))


def _state(goal: Goal, rival: Sample, own: Sample, *, rules: Rules, tail: float) -> str:
    low, high = goal.margin_ends(rival, tail=tail)
    if high < 0:
        return LACKING
    least, most = goal.gain_ends(rival, own, seed=rules.seed, tail=tail)
    if least > -rules.matters:
        return NOT_BETTER
    return BETTER if most < 0 and low >= 0 else OPEN
