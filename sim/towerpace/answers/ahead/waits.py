"""What a promise waits for before its next step can begin, in words."""

from __future__ import annotations

from collections import Counter

from towerpace.answers.ahead.ahead import Ahead
from towerpace.answers.said.people import words
from towerpace.engine.diary import DATE, NEVER, ORIGIN
from towerpace.plan.model import NONE, Plan

RUNNING, NOTHING, BY_DATE, NOT_IN_TIME = "in progress", "nothing", "its date", "never begun"
ITS_OWN = "its own earlier work"


def waits_for(ahead: Ahead, number: int) -> tuple[str, float]:
    """What lets the next step of a promise begin in most trials, and in which share of them. [-]"""
    step = int(ahead.waits[number])
    if step == NONE:
        return RUNNING, 1.0
    enablers = ahead.outcomes.values["enabler"][:, number].tolist()
    said = Counter(_said(ahead.ready.tower.plan, enabler, step) for enabler in enablers)
    # Of equally many the one that is first in the alphabet, so that no order of trials decides.
    what, times = min(said.items(), key=lambda item: (-item[1], item[0]))
    return what, times / ahead.trials


def _said(plan: Plan, enabler: int, step: int) -> str:
    special = {ORIGIN: NOTHING, DATE: BY_DATE, NEVER: NOT_IN_TIME}.get(enabler)
    if special is not None:
        return special
    tags, own = plan.tags(enabler), plan.tags(step)
    if (tags.trade, tags.level, tags.zone) == (own.trade, own.level, own.zone):
        return ITS_OWN
    where = "" if tags.level is None else f" L{tags.level}" + (f" {tags.zone}" if tags.zone else "")
    what = tags.trade or tags.kind
    place = f"{words(what)}{where}"
    if enabler in plan.lists.before[step]:
        return place
    given = set(plan.give_pool[enabler].tolist()) & set(plan.needs[step].tolist())
    pools = ", ".join(sorted(words(plan.pools.names[pool]) for pool in given))
    return f"{pools} at {place}" if pools else place
