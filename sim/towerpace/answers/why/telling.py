"""One trial told: its controlling chain in stretches or, where it is long, by trades, and its site diary."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby

from towerpace.answers.days import DAY_MIN
from towerpace.answers.ledger.waits import SHIFT
from towerpace.answers.prepare import Prepared
from towerpace.answers.why.explain import DATE_CAUSE, LATER_CAUSE
from towerpace.answers.why.pace import in_shift, shift_min
from towerpace.answers.why.replay import Played, replay
from towerpace.answers.why.site_diary import Day, site_diary
from towerpace.answers.why.stretches import Stretch, Told, said_cause, tell

LONG_CHAIN = 30  # stretches; a longer chain is told by trades
LEAST_D = 0.05  # what would read as 0.0 days is left out


@dataclass(frozen=True)
class Story:
    """One trial: what was played, its controlling chain, its site diary."""

    played: Played
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
    lengths = shift_min(story.played.ready.tower.plan)
    stretches = story.told.stretches
    groups = (
        [list(g) for _, g in groupby(stretches, key=lambda s: s.leg)]
        if by_trade
        else [[s] for s in stretches]
    )
    for group in groups:
        yield _leg(group, lengths)


def _leg(group: Sequence[Stretch], lengths: Mapping[str, float]) -> Leg:
    minutes: Counter[str] = Counter()
    for stretch in group:
        minutes.update(dict(stretch.by_cause))
    length = lengths.get(group[0].tags.trade, float("nan"))
    inside = sum(spent for cause, spent in minutes.items() if in_shift(cause))
    words = [_spent(minutes, length), _why(group)]
    if len(group) > 1:
        longest = max(group, key=lambda s: s.finished - s.since)
        days = (longest.finished - longest.since) / DAY_MIN
        words.append(f"longest {_where(longest)}, {days:.1f} d")
    return Leg(
        name=_name(group),
        since=group[0].since,
        finished=group[-1].finished,
        closed_days=minutes[SHIFT] / DAY_MIN,
        working_days=inside / length if inside else 0.0,
        spent="; ".join(word for word in words if word),
    )


def _name(group: Sequence[Stretch]) -> str:
    if len(group) == 1:
        return group[0].name
    last = f" to {_where(group[-1])}" if _where(group[0]) != _where(group[-1]) else ""
    return f"{group[0].name}{last}, {len(group)} stretches"


def _where(stretch: Stretch) -> str:
    return f"L{stretch.tags.level} {stretch.tags.zone}".strip()


def _spent(minutes: Counter[str], length: float) -> str:
    """Causes, the longest first: inside the shift in working days, others in days."""
    said = []
    for cause, spent in minutes.most_common():
        days = spent / (length if in_shift(cause) else DAY_MIN)
        if cause not in (SHIFT, DATE_CAUSE, LATER_CAUSE) and days >= LEAST_D:
            said.append(f"{said_cause(cause)} {days:.1f}")
    return ", ".join(said)


def _why(group: Sequence[Stretch]) -> str:
    """What let it begin, where that is a resource or a date."""
    pools = dict.fromkeys(pool for stretch in group for pool in stretch.pools)
    if pools:
        each = "each time " if len(group) > 1 and all(stretch.pools for stretch in group[1:]) else ""
        return f"{each}{' and '.join(pools)} came free"
    causes = dict(group[0].by_cause)
    if late := causes.get(LATER_CAUSE):
        return f"{late / DAY_MIN:.1f} d later than its date"
    return "not before its date" if causes.get(DATE_CAUSE) else ""
