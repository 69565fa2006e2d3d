"""What fresh draws show of a choice: that it does what is asked, and that no neighbour is much better.

The draws had no part in the search, so what they say is not flattered by it. Trials grow by looks; the chance
of an error is shared out over neighbours, looks and the choices that were tried before.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from towerpace.answers.choose.goal import Goal, Sample
from towerpace.answers.choose.search import Rules
from towerpace.answers.choose.space import Point
from towerpace.answers.choose.visited import Trials

LOOKS = (50, 100, 200, 400)  # trials of a neighbour
FURTHER = (2, 4, 8)  # times the trials asked for, where these leave something open
SHOWN = 0.025  # chance that a set-up which does not do is shown to
LAST_PART = 0.5  # of the chance of an error that the last look may take
BETTER, NOT_BETTER, LACKING, NARROW, OPEN = "better", "not better", "lacking", "narrow", "open"


@dataclass(frozen=True)
class Rival:
    """A set-up held against the choice under fresh draws.

    state : better, not better by what matters, lacking what is asked, not doing it by as much as trials show
    easily, or open. trials : behind it.
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
    """Whether fresh draws show that a set-up does what is asked; more of them where they leave it open."""
    looks = [most, *(times * most for times in FURTHER[:-1])]
    tail = SHOWN / len(looks)
    for look in looks:
        (sample,) = trials.results([point], [look], fresh=True)
        low, high = goal.margin_ends(sample, tail=tail)
        if low >= 0 or high < 0:
            break
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

    attempt : choices that were tried, this one among them. most : trials of each; what they leave open gets
    up to `FURTHER` times as many.

    Notes
    -----
    A rival that does what is asked by less than twice the error of `most` trials counts as no better. Without
    such a zone there is no end to the trials of what lies at the border.
    Source: Andradottir & Kim (2010), Fully sequential procedures for comparing constrained systems via
    simulation, Naval Research Logistics 57: 403-421 (from memory).

    Each statement is wrong with a chance of (1 - sure) 6 / (pi attempt)^2 / (2 rivals) at most over its
    looks, so all of them hold with the chance `sure` (Bonferroni).
    """
    proof = does(goal, trials, point, most=most)
    own, narrow = proof.sample, replace(goal, shown_by=most)
    looks = [*(look for look in LOOKS if look < most), most, *(times * most for times in FURTHER)]
    wrong = (1 - rules.sure) * 6 / (np.pi * attempt) ** 2 / max(1, 2 * len(rivals))
    told: dict[Point, Rival] = {}
    for look in looks:
        left = [rival for rival in rivals if rival not in told]
        if not left:
            break
        if look > len(own):
            (own,) = trials.results([point], [look], fresh=True)
        tail = wrong * (LAST_PART if look == looks[-1] else (1 - LAST_PART) / (len(looks) - 1))
        for rival, sample in zip(left, trials.results(left, [look] * len(left), fresh=True), strict=True):
            state = _state(narrow, sample, own.first(look), rules=rules, tail=tail)
            if state != OPEN or look == looks[-1]:
                told[rival] = Rival(rival, state, look)
    return Proof(point, own, proof.holds, tuple(told[rival] for rival in rivals))


def _state(goal: Goal, rival: Sample, own: Sample, *, rules: Rules, tail: float) -> str:
    low, high = goal.margin_ends(rival, tail=tail)
    if high < 0:
        return LACKING
    least, most = goal.gain_ends(rival, own, seed=rules.seed, tail=tail)
    if least > -rules.matters:
        return NOT_BETTER
    if most < 0 and low >= 0:
        return BETTER
    return NARROW if high < goal.spare(own) else OPEN
