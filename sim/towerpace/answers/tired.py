"""Which work falls into weeks of other hours, by a rehearsal of the plan where fatigue is stated."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from towerpace.answers.ledger.waits import open_before
from towerpace.climate.source import WeatherSource
from towerpace.draws import as_planned
from towerpace.engine.diary import Diary
from towerpace.engine.fastest import run
from towerpace.plan.site.fatigue import FatigueLaw
from towerpace.plan.site.tower import Tower
from towerpace.plan.site.working_hours import calendar_shifts
from towerpace.scenario.schema import Settings
from towerpace.units import DAY_MIN, Floats, Ints


def fatigue_laws(settings: Settings, *, tower: Tower, weather: WeatherSource | None) -> list[FatigueLaw]:
    """Laws of the fatigue factors that calendars state for some weeks; none where none is stated.

    Every duration as planned and the weather as recorded say which work falls into these weeks.
    """
    dated = [dated for calendar in settings.calendar.values() for dated in calendar.dated]
    if all(other.fatigue is None for other in dated):
        return []
    hours = None if weather is None else weather.replayed(0)
    return list(_laws(settings, tower, run(tower.plan, as_planned(tower.plan, hours=hours))))


def _laws(settings: Settings, tower: Tower, diary: Diary) -> Iterator[FatigueLaw]:
    start, days = settings.tower.start, settings.tower.horizon_days
    for name, calendar in settings.calendar.items():
        windows = np.array(tower.windows_of.get(name, ()), dtype=np.int64)
        done = np.isin(tower.plan.window, windows) & ~tower.plan.optional & (diary.finished > diary.started)
        steps = np.flatnonzero(done & (diary.started >= 0))
        shifts = calendar_shifts(calendar, start=start, days=days)
        for number, dated in enumerate(calendar.dated):
            if dated.fatigue is not None:
                since, until = ((day - start).days * DAY_MIN for day in (dated.from_, dated.to))
                shares = _shares(diary, steps, shifts=shifts, since=since, until=until + DAY_MIN)
                some = shares > 0
                yield FatigueLaw(name, number, steps[some], shares[some], dated.fatigue)


def _shares(diary: Diary, steps: Ints, *, shifts: Ints, since: int, until: int) -> Floats:
    """Of each step, the share of its shift minutes that lies in [since, until), (k,). [-]"""
    begun, ended = diary.started[steps].astype(np.int64), diary.finished[steps].astype(np.int64)
    inside = open_before(shifts, np.clip(ended, since, until)) - open_before(
        shifts, np.clip(begun, since, until)
    )
    whole = open_before(shifts, ended) - open_before(shifts, begun)
    # What lies outside the shifts altogether, as the end of a lift, counts by where it begins.
    alone = ((begun >= since) & (begun < until)).astype(np.float64)
    shares: Floats = np.where(whole > 0, inside / np.maximum(whole, 1), alone)
    return shares
