"""The controlling chain of one trial as a person tells it: links of one front in a row become one stretch."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import groupby

import numpy as np

from towerpace.answers.ledger.book import awaited, in_calendar_time, missing_cause
from towerpace.answers.ledger.waits import AGAIN, SHIFT
from towerpace.answers.why.chain import DATE_CAUSE, Link, chain
from towerpace.answers.why.explain import ChainReader
from towerpace.answers.why.replay import PlayedTrial
from towerpace.answers.why.scarce import Scarce
from towerpace.plan.model import Plan
from towerpace.plan.parts import Tags
from towerpace.plan.site.activities import ACTIVITIES
from towerpace.plan.site.risks import RISKS
from towerpace.units import Ints


@dataclass(frozen=True)
class Stretch:
    """Links in a row of one trade on one front.

    name : "panels L12 north", or the name of what happens once. by_cause : minutes, the longest first.
    pools : what came free for its first link, none where a predecessor or a date let it start.
    leg : its trade, or its own name where it is no work on a front. worked : working days by cause.
    """

    name: str
    tags: Tags
    links: tuple[Link, ...]
    by_cause: tuple[tuple[str, int], ...]
    pools: tuple[str, ...]
    leg: str
    worked: Mapping[str, float]

    @property
    def since(self) -> int:
        """End of what came before. [min]"""
        return self.links[0].since

    @property
    def finished(self) -> int:
        """End of its last link. [min]"""
        return self.links[-1].finished


@dataclass(frozen=True)
class Told:
    """The chain of one trial: its links, their minutes by cause, (n_causes, k), and its stretches.

    All empty for a trial that did not finish.
    """

    links: tuple[Link, ...]
    causes: tuple[str, ...]
    minutes: Ints
    stretches: tuple[Stretch, ...]


def tell(played: PlayedTrial) -> Told:
    """The chain of one trial, link by link and in stretches."""
    reader, plan = ChainReader(played.ready.tower), played.ready.tower.plan
    links = chain(played.diary)
    if not links:
        return Told((), reader.causes, np.zeros((len(reader.causes), 0), dtype=np.int64), ())
    _, minutes = reader.book.of(played.draw, played.diary)
    spent = reader.by_cause(links, minutes, played.draw, played.diary)
    worked = reader.pace.working_days(spent, steps=np.array([link.step for link in links]))
    scarce, stretches = Scarce(plan), []
    for _, group in groupby(range(len(links)), key=lambda k: _front(plan, links[k].step)):
        rows = list(group)
        first, before = links[rows[0]], links[rows[0] - 1]
        freed = scarce.pools(played.draw, played.diary, giver=before, link=first) if rows[0] else []
        minutes_of = _sorted(reader.causes, spent[:, rows].sum(axis=1))
        own, names = tuple(links[k] for k in rows), tuple(plan.pools.names[p] for p in freed)
        name, tags = stretch_name(plan, first.step), plan.tags(first.step)
        leg = tags.trade if on_a_front(plan, first.step) else name
        days = np.nan_to_num(worked[:, rows]).sum(axis=1)
        by_day = {cause: float(d) for cause, d in zip(reader.causes, days, strict=True) if d}
        stretches.append(Stretch(name, tags, own, minutes_of, names, leg, by_day))
    return Told(tuple(links), reader.causes, spent, tuple(stretches))


def _front(plan: Plan, step: int) -> tuple[object, ...]:
    tags = plan.tags(step)
    return (tags.trade, tags.level, tags.zone) if on_a_front(plan, step) else ("", step)


def on_a_front(plan: Plan, step: int) -> bool:
    """Whether a step is work of a trade on a level, not something that happens once."""
    tags = plan.tags(step)
    return tags.trade not in ("", ACTIVITIES, RISKS) and tags.level is not None


def _sorted(causes: tuple[str, ...], minutes: Ints) -> tuple[tuple[str, int], ...]:
    """Causes that took a minute, the longest first."""
    spent = [(cause, int(m)) for cause, m in zip(causes, minutes, strict=True) if m]
    return tuple(sorted(spent, key=lambda pair: -pair[1]))


def said_cause(cause: str) -> str:
    """A cause of the chain as people say it.

    >>> [said_cause(c) for c in ("outside shift", "after curing", "wind")]
    ['nights and closed days', 'curing or set lag', 'wind']
    """
    named = {SHIFT: "nights and closed days", DATE_CAUSE: "until its date", AGAIN: "work begun again"}
    named[missing_cause("curing")] = "curing or set lag"
    return named.get(cause) or (in_calendar_time(cause) and awaited(cause)) or cause


def stretch_name(plan: Plan, step: int) -> str:
    """What a person calls the work that a step is part of."""
    tags = plan.tags(step)
    if not on_a_front(plan, step):
        return plan.names[step]
    return " ".join(word for word in (tags.trade, f"L{tags.level}", tags.zone) if word)
