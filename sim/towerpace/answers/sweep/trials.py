"""How many trials a point of a study gets: so many, or until its P80 is known well enough."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from towerpace.answers.estimates import percentile
from towerpace.answers.sweep.estimates import CONFIDENCE
from towerpace.trials.job import Job
from towerpace.trials.outcome import Outcomes, joined
from towerpace.trials.player import BLOCK
from towerpace.trials.run import played
from towerpace.units import DAY_MIN, Ints

FIRST = 50  # trials before the P80 is looked at
GROWTH = (
    1.5  # of the trials from one look to the next: few looks, so that looking hardly flatters the interval
)


@dataclass(frozen=True)
class TrialsRule:
    """How many trials a point gets.

    most : at the most. within_days : stops once the P80 of the finish is known to ± so many days; None plays
    `most`. [d]
    """

    most: int
    within_days: float | None = None


def play_by(rule: TrialsRule, job: Job) -> Outcomes:
    """Trials from 0 on, as many as the rule asks for; the numbers are those of one run of that length.

    Raises `KeyboardInterrupt` if they were cut short: part of a point is no point.
    """
    parts: list[Outcomes] = []
    done = 0
    for upto in looks(rule):
        parts, done = [joined([*parts, played(job, trials=upto - done, first=done)])], upto
        if rule.within_days is not None and known_within(parts[0].values["finish"], days=rule.within_days):
            break
    return parts[0]


def looks(rule: TrialsRule) -> Iterator[int]:
    """Numbers of trials after which the P80 is looked at.

    >>> list(looks(TrialsRule(200, within_days=2.0)))
    [50, 80, 120, 180, 200]
    """
    upto = rule.most if rule.within_days is None else min(FIRST, rule.most)
    yield upto
    while upto < rule.most:
        upto = min(rule.most, -(-int(upto * GROWTH) // BLOCK) * BLOCK)
        yield upto


def known_within(finish: Ints, *, days: float) -> bool:
    """Whether both ends of the interval of the P80 lie within so many days of it."""
    p80 = percentile(finish, 0.8, confidence=CONFIDENCE)
    if not p80.bounded or p80.value is None or p80.low is None or p80.high is None:
        return False
    return max(p80.high - p80.value, p80.value - p80.low) <= days * DAY_MIN
