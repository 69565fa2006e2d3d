"""One trial told: its controlling chain in stretches or, where it is long, by trades, and its site diary."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby

from towerpace.answers.ledger.waits import SHIFT
from towerpace.answers.prepare import Prepared
from towerpace.answers.why.chain import DATE_CAUSE, LATER_CAUSE
from towerpace.answers.why.replay import PlayedTrial, replay
from towerpace.answers.why.site_diary import Day, site_diary
from towerpace.answers.why.stretches import Stretch, Told, said_cause, tell
from towerpace.units import DAY_MIN

LONG_CHAIN = 30  # stretches; a longer chain is told by trades
_MANY = 3  # stretches, of which the longest is worth a word
LEAST_D = 0.05  # what would read as 0.0 days is left out


@dataclass(frozen=True)
class Story:
    """One trial: what was played, its controlling chain, its site diary."""

    played: PlayedTrial
    told: Told
    diary: tuple[Day, ...]

    @property
    def start(self) -> date:
        """First day of the clock."""
        return self.played.ready.tower.start

    @property
    def is_long(self) -> bool:
        """Whether its chain has more stretches than people read one by one."""
        return len(self.told.stretches) > LONG_CHAIN


def story_of(ready: Prepared, *, seed: int, trial: int) -> Story:
    """Play one trial and tell it."""
    played = replay(ready, seed=seed, trial=trial)
    return Story(played, tell(played), tuple(site_diary(played)))


@dataclass(frozen=True)
class Leg:
    """Stretches in a row that are told as one: of one trade where the chain is long, else a single one.

    name : of its work. since, finished : end of what came before, and its own. [min] closed_days : nights
    and closed days. working_days : what lies inside the shift, in the trade's own. spent : in words.
    """

    name: str
    since: int
    finished: int
    closed_days: float
    working_days: float
    spent: str


def legs_of(story: Story, *, by_trade: bool) -> Iterator[Leg]:
    """Every stretch of the chain, or all stretches of one trade in a row, with the longest of them."""
    stretches = story.told.stretches
    groups = (
        [list(g) for _, g in groupby(stretches, key=lambda s: s.leg)]
        if by_trade
        else [[s] for s in stretches]
    )
    for group in groups:
        yield _leg(group)


def _leg(group: Sequence[Stretch]) -> Leg:
    minutes: Counter[str] = Counter()
    worked: dict[str, float] = {}
    for stretch in group:
        minutes.update(dict(stretch.by_cause))
        for cause, days in stretch.worked.items():
            worked[cause] = worked.get(cause, 0.0) + days
    words = [_spent(minutes, worked), _why(group)]
    if len(group) >= _MANY:
        longest = max(group, key=lambda s: s.finished - s.since)
        days = (longest.finished - longest.since) / DAY_MIN
        words.append(f"longest {_where(longest)}, {days:.1f} d")
    return Leg(
        name=_name(group),
        since=group[0].since,
        finished=group[-1].finished,
        closed_days=minutes[SHIFT] / DAY_MIN,
        working_days=sum(worked.values()),
        spent="; ".join(word for word in words if word),
    )


def _name(group: Sequence[Stretch]) -> str:
    if len(group) == 1:
        return group[0].name
    last = f" to {_where(group[-1])}" if _where(group[0]) != _where(group[-1]) else ""
    return f"{group[0].name}{last}, {len(group)} stretches"


def _where(stretch: Stretch) -> str:
    return f"L{stretch.tags.level} {stretch.tags.zone}".strip()


def _spent(minutes: Counter[str], worked: Mapping[str, float]) -> str:
    """Causes, the longest first: inside the shift in working days, others in days."""
    said = []
    for cause, spent in minutes.most_common():
        days = worked.get(cause, spent / DAY_MIN)
        if cause not in (SHIFT, DATE_CAUSE, LATER_CAUSE) and days >= LEAST_D:
            said.append(f"{said_cause(cause)} {days:.1f}")
    return ", ".join(said)


def _why(group: Sequence[Stretch]) -> str:
    """What let it begin, where that is a resource or a date."""
    pools = dict.fromkeys(pool for stretch in group for pool in stretch.pools)
    if pools:
        each = "each time " if len(group) > 1 and all(stretch.pools for stretch in group[1:]) else ""
        return f"{each}{', '.join(pools)} came free"
    causes = dict(group[0].by_cause)
    if late := causes.get(LATER_CAUSE):
        return f"{late / DAY_MIN:.1f} d later than its date"
    return "not before its date" if causes.get(DATE_CAUSE) else ""
