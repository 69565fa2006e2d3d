"""One trial told: its chain and its site diary, and the chain as lines of text."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import groupby

from towerpace.answers.days import DAY_MIN
from towerpace.answers.prepare import Prepared
from towerpace.answers.why.explain import DATE_CAUSE, LATER_CAUSE
from towerpace.answers.why.replay import Played, replay
from towerpace.answers.why.site_diary import Day, site_diary
from towerpace.answers.why.stretches import Stretch, Told, said_cause, tell

LONG_CHAIN = 30  # stretches; a longer chain is told by trades
LEAST_D = 0.05  # what would read as 0.0 days is left out


@dataclass(frozen=True)
class Story:
    """One trial: what was played, its critical chain, its site diary."""

    played: Played
    told: Told
    diary: tuple[Day, ...]

    @property
    def start(self) -> date:
        """First day of the clock."""
        return self.played.ready.tower.start


def story_of(ready: Prepared, *, seed: int, trial: int) -> Story:
    """Play one trial and tell it."""
    played = replay(ready, seed=seed, trial=trial)
    return Story(played, tell(played), tuple(site_diary(played)))


def chain_lines(told: Told, *, start: date) -> Iterator[str]:
    """A line a stretch: panels L12 north: 9 to 13 Sep 2027, 4.2 d: work 1.9, nights and closed days 1.7."""
    for stretch in told.stretches:
        yield _line(stretch.name, [stretch], start)


def leg_lines(told: Told, *, start: date) -> Iterator[str]:
    """A line for all stretches of one trade in a row, with the longest of them; for long chains."""
    for _, group in groupby(told.stretches, key=lambda one: one.leg):
        leg = list(group)
        if len(leg) == 1:
            yield _line(leg[0].name, leg, start)
            continue
        longest = max(leg, key=lambda s: s.finished - s.since)
        last = f" to {_where(leg[-1])}" if _where(leg[0]) != _where(leg[-1]) else ""
        name = f"{leg[0].name}{last}, {len(leg)} stretches"
        days = (longest.finished - longest.since) / DAY_MIN
        yield f"{_line(name, leg, start)}; longest {_where(longest)}, {days:.1f} d"


def _where(stretch: Stretch) -> str:
    return f"L{stretch.tags.level} {stretch.tags.zone}".strip()


def _line(name: str, leg: Sequence[Stretch], start: date) -> str:
    since, finished = leg[0].since, leg[-1].finished
    return f"{name}: {between(since, finished, start)}{_spent(leg, (finished - since) / DAY_MIN)}{_why(leg)}"


def between(since: int, finished: int, start: date) -> str:
    """Dates of a span of minutes, with no word said twice.

    >>> between(9 * 1440 + 60, 14 * 1440, date(2027, 9, 1))
    '10 to 14 Sep 2027'
    """
    first = start + timedelta(days=since // DAY_MIN)
    last = max(first, start + timedelta(days=max(0, finished - 1) // DAY_MIN))
    if first == last:
        return f"{first.day} {first:%b %Y}"
    if (first.month, first.year) == (last.month, last.year):
        return f"{first.day} to {last.day} {last:%b %Y}"
    year = "" if first.year == last.year else f" {first.year}"
    return f"{first.day} {first:%b}{year} to {last.day} {last:%b %Y}"


def _spent(leg: Sequence[Stretch], days: float) -> str:
    if days < LEAST_D:
        return ""
    spent: Counter[str] = Counter()
    for stretch in leg:
        spent.update({c: m for c, m in stretch.by_cause if c not in (DATE_CAUSE, LATER_CAUSE)})
    causes = [(said_cause(cause), minutes / DAY_MIN) for cause, minutes in spent.most_common()]
    shown = ", ".join(f"{cause} {d:.1f}" for cause, d in causes if d >= LEAST_D)
    return f", {days:.1f} d{f': {shown}' if shown else ''}"


def _why(leg: Sequence[Stretch]) -> str:
    pools = dict.fromkeys(pool for stretch in leg for pool in stretch.pools)
    if pools:
        each = ", each" if len(leg) > 1 and all(stretch.pools for stretch in leg[1:]) else ""
        return f"{each if each else ';'} when {' and '.join(pools)} came free"
    causes = dict(leg[0].by_cause)
    if late := causes.get(LATER_CAUSE):
        return f"; {late / DAY_MIN:.1f} d later than its date"
    return "; not before its date" if causes.get(DATE_CAUSE) else ""
