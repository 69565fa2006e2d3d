"""How the forecast moved from period to period, and what of each move the events made."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

import numpy as np

from towerpace.answers.delay.concurrency import MOST_TOGETHER, shapley
from towerpace.answers.delay.played import FINISH, SitePlayed, TrialsOf, milestone_days
from towerpace.answers.prepare import Prepared
from towerpace.answers.update.milestones import Milestones
from towerpace.record.events import Event
from towerpace.record.moments import end_of
from towerpace.units import Floats

By = Literal["month", "sheet"]
WORK, UNEXPLAINED = "work and weather as they came", "not explained by the model"


@dataclass(frozen=True)
class Part:
    """A part of a move: an event, or one of the others. days : of the P50. [d]"""

    name: str
    days: float


@dataclass(frozen=True)
class Period:
    """One move of the forecast.

    since : data date before it; None for the start. until : data date that ends it.
    before, after : days from the start to the P50 of the finish, infinite beyond the horizon. [d]
    parts : they add up to the move. [d]
    """

    since: date | None
    until: date
    before: float
    after: float
    parts: tuple[Part, ...]


def period_ends(days: Sequence[date], *, at: date, by: By) -> list[date]:
    """Data dates that end periods: every sheet, or the last sheet of every month; the last is the data date.

    days : of the sheets, ascending.

    >>> sheets = [date(2027, 6, 4), date(2027, 6, 25), date(2027, 7, 2)]
    >>> [str(day) for day in period_ends(sheets, at=date(2027, 7, 2), by="month")]
    ['2027-06-25', '2027-07-02']
    """
    past = [*(day for day in days if day < at), at]
    if by == "sheet":
        return past
    return list({(day.year, day.month): day for day in past}.values())


def periods_of(
    ready: Prepared, site: SitePlayed, *, by: By, seen_at: Callable[[date], SitePlayed]
) -> tuple[Period, ...]:
    """The move of every period up to the data date of a site.

    ready : the scenario before any event. seen_at : the site as it was seen at an earlier day.
    """
    record = site.state.record
    ends, periods = period_ends(record.progress.days, at=record.at, by=by), []
    before, since = _at_start(ready, site.how), None
    for end in ends:
        seen = site if end == record.at else seen_at(end)
        period = _period(seen, since=since, before=before)
        periods.append(period)
        before, since = period.after, end
    return tuple(periods)


def _at_start(ready: Prepared, how: TrialsOf) -> float:
    outcomes = how.play(ready.chooser, Milestones(ready.tower))
    return middle(milestone_days(outcomes, ready)[FINISH])


def _period(site: SitePlayed, *, since: date | None, before: float) -> Period:
    """The record is fixed up to the begin of the period; all later than it is played as it was seen."""
    start = site.state.ready.tower.start
    first = 0 if since is None else end_of(since, start=start)
    own = [event for event in site.events if _reaches(event, first, site)]

    def p50(befell: frozenset[str]) -> Floats:
        off = [event.name for event in own if event.name not in befell]
        return np.array([middle(site.days(since=first, off=off)[FINISH])])

    names = [event.name for event in own]
    after = middle(site.as_recorded()[FINISH])
    without, with_all = float(p50(frozenset())[0]), float(p50(frozenset(names))[0])
    parts = [Part(WORK, without - before)]
    parts += [Part(name, days) for name, days in _split(p50, names).items()]
    parts.append(Part(UNEXPLAINED, after - with_all))
    return Period(since, site.day, before, after, tuple(parts))


def _reaches(event: Event, minute: int, site: SitePlayed) -> bool:
    """Whether an event goes on after a minute."""
    start = site.state.ready.tower.start
    return event.to_min(start, seen_until=site.known.until) > minute


def _split(p50: Callable[[frozenset[str]], Floats], names: Sequence[str]) -> dict[str, float]:
    """Shapley means of few events; of many what each adds to those that began before it."""
    if len(names) <= MOST_TOGETHER:
        return {name: float(days[0]) for name, days in shapley(p50, names).items()}
    chain = [float(p50(frozenset(names[:k]))[0]) for k in range(len(names) + 1)]
    return {name: chain[k + 1] - chain[k] for k, name in enumerate(names)}


def middle(days: Floats) -> float:
    """The P50 of some trials, that of rank ceil(n / 2); infinite beyond the horizon. [d]"""
    return float(np.sort(days)[-(-len(days) // 2) - 1])
