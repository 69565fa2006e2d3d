"""What events cost: each without the others, all their sets, and period by period."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property

import numpy as np

from towerpace.answers.delay.checks import check_events
from towerpace.answers.delay.concurrency import MOST_TOGETHER, Pair, pair, shapley
from towerpace.answers.delay.not_started import not_started_h
from towerpace.answers.delay.paced import Paced, paced_fronts
from towerpace.answers.delay.periods import By, Period, periods_of
from towerpace.answers.delay.played import FINISH, SitePlayed, TrialsOf
from towerpace.answers.prepare import Prepared
from towerpace.answers.seen.reading import Reading
from towerpace.record.events import Event
from towerpace.record.site_record import SiteRecord
from towerpace.units import Floats


@dataclass(frozen=True)
class Single:
    """What one event cost, the others as they were, by milestone; trial by trial, (n,). [d]

    with_it, without_it : days to each milestone, played from its begin on. recorded : the same with all that
    was seen pinned.
    """

    event: Event
    with_it: Mapping[str, Floats]
    without_it: Mapping[str, Floats]
    recorded: Mapping[str, Floats]

    def cost(self, milestone: str = FINISH) -> Floats:
        """Days by which the event made a milestone later, of trials that reach it in both, (k,)."""
        return difference(self.with_it[milestone], self.without_it[milestone])

    @property
    def unexplained(self) -> Floats:
        """Days by which the record is later than its replay with the event, (k,)."""
        return difference(self.recorded[FINISH], self.with_it[FINISH])


@dataclass(frozen=True)
class Together:
    """How the days of all events are shared, played from the begin of the first; trial by trial. [d]

    pairs : of two events each. shares : Shapley means by event; empty where there are too many events.
    whole : all of them, (n,).
    """

    pairs: Mapping[tuple[str, str], Pair]
    shares: Mapping[str, Floats]
    whole: Floats


@dataclass(frozen=True)
class Delays:
    """What the events of a site cost at a data date."""

    site: SitePlayed

    @cached_property
    def singles(self) -> tuple[Single, ...]:
        """Every event, the others as they were."""
        site, start = self.site, self.site.state.ready.tower.start
        recorded = site.as_recorded()
        singles = []
        for event in site.events:
            since = event.from_min(start)
            with_it, without_it = site.days(since=since), site.days(since=since, off=[event.name])
            singles.append(Single(event, with_it, without_it, recorded))
        return tuple(singles)

    @property
    def since(self) -> int:
        """Begin of the first event. [min]"""
        return min(event.from_min(self.site.state.ready.tower.start) for event in self.site.events)

    @cached_property
    def together(self) -> Together:
        """All events, and every two of them."""
        names = self.site.names
        few = len(names) <= MOST_TOGETHER
        pairs = {}
        for k, one in enumerate(names):
            for other in names[k + 1 :]:
                beside = [name for name in names if name not in (one, other)]
                pairs[one, other] = pair(self.worth, one, other, beside=beside)
        whole = self.worth(frozenset(names)) - self.worth(frozenset())
        return Together(pairs, shapley(self.worth, names) if few else {}, whole)

    def worth(self, befell: frozenset[str]) -> Floats:
        """Days to the finish if only some events had befallen, (n,); NaN beyond the horizon."""
        off = [name for name in self.site.names if name not in befell]
        days = self.site.days(since=self.since, off=off)[FINISH]
        return np.where(np.isfinite(days), days, np.nan)

    def running(self, minute: int) -> float:
        """Days that the events begun by a minute cost the finish, by their shares. [d]"""
        start = self.site.state.ready.tower.start
        begun = [event.name for event in self.site.events if event.from_min(start) <= minute]
        costs = self.together.shares or {single.event.name: single.cost() for single in self.singles}
        return sum(float(np.nanmean(costs[name])) for name in begun)

    def cost_by_law(self, event: Event, steps: Sequence[int]) -> Floats:
        """Days that an event cost if some steps had taken the minutes of the law, (k,). [d]"""
        since = event.from_min(self.site.state.ready.tower.start)
        with_it = self.site.days(since=since, by_law=steps)
        without_it = self.site.days(since=since, off=[event.name], by_law=steps)
        return difference(with_it[FINISH], without_it[FINISH])


def difference(later: Floats, sooner: Floats) -> Floats:
    """Paired differences of the trials that are finite in both, (k,)."""
    both = np.isfinite(later) & np.isfinite(sooner)
    return later[both] - sooner[both]


@dataclass(frozen=True)
class Delay:
    """What the events of a site cost, and what stands beside it.

    ready : the scenario as it was planned. periods : moves of the forecast.
    paced : fronts that may have been paced. by_law : what each event cost if these had gone as learned;
    empty where there are none. not_started : hours by trade.
    """

    ready: Prepared
    delays: Delays
    periods: tuple[Period, ...]
    paced: tuple[Paced, ...]
    by_law: Mapping[str, Floats]
    not_started: Mapping[str, float]

    @property
    def site(self) -> SitePlayed:
        """The site at the data date."""
        return self.delays.site


def delay(ready: Prepared, record: SiteRecord, how: TrialsOf, *, reading: Reading, by: By) -> Delay:
    """What events cost a site up to the data date of its record.

    reading : what befell, and how the record is read. by : what ends a period.
    """

    def seen_at(day: date) -> SitePlayed:
        return SitePlayed.seen_at(ready, record.as_of(day), reading=reading, how=how)

    site = SitePlayed.seen_at(ready, record, reading=reading, how=how)
    check_events(site, file=reading.file)
    delays = Delays(site)
    paced = tuple(paced_fronts(site, since=delays.since, running=delays.running))
    steps = [step for front in paced for step in front.steps.tolist()]
    by_law = {
        single.event.name: delays.cost_by_law(single.event, steps) for single in delays.singles if steps
    }
    periods = periods_of(ready, site, by=by, seen_at=seen_at)
    return Delay(ready, delays, periods, paced, by_law, not_started_h(site))
