"""Dates and clocks that do not fit the job: another year's holidays, a late mock-up, an upper level first."""

import datetime as dt
from collections.abc import Iterator
from zoneinfo import ZoneInfo

from towerpace.scenario.complaints import Path
from towerpace.scenario.doubts import PRACTICE, Doubt, doubt_at
from towerpace.scenario.load import Scenario
from towerpace.scenario.plausible_numbers import line_of_level
from towerpace.scenario.schema import Resource, UnitDates

# A record is kept in its zone's standard time, give or take an hour; more is another place.
MOST_APART_H = 1.5
CLOCK_SOURCE = "shifts are clock time, the record keeps one time all the year"


def calendar_doubts(scenario: Scenario) -> Iterator[Doubt]:
    """Doubts about closed days and dated hours outside the years of the job."""
    tower = scenario.settings.tower
    last = tower.start + dt.timedelta(tower.horizon_days)
    usual = f"a day of {tower.start.year} to {last.year}, the years of the job"
    for name, calendar in scenario.settings.calendar.items():
        ends: list[tuple[Path, dt.date, dt.date]] = [
            (("calendar", name, "closed", k), day, day) for k, day in enumerate(calendar.closed)
        ]
        ends += [
            (("calendar", name, "closed_spans", k, "from"), span.from_, span.to)
            for k, span in enumerate(calendar.closed_spans)
        ]
        ends += [
            (("calendar", name, "dated", k, "from"), dated.from_, dated.to)
            for k, dated in enumerate(calendar.dated)
        ]
        for path, first, until in ends:
            if until.year < tower.start.year or first.year > last.year:
                found = str(first) if first == until else f"{first} to {until}"
                yield doubt_at(scenario, path, found=found, usual=usual)


def resource_doubts(scenario: Scenario) -> Iterator[Doubt]:
    """Doubts about units that would arrive or leave when the clock has stopped."""
    tower = scenario.settings.tower
    end = tower.start + dt.timedelta(tower.horizon_days)
    usual = f"a day before {end}, on which the clock stops"
    for name, resource in scenario.settings.resource.items():
        whole: Path = ("resource", name)
        tables: list[tuple[Path, Resource | UnitDates]] = [(whole, resource)]
        tables += [((*whole, "unit", k), unit) for k, unit in enumerate(resource.unit)]
        for path, dates in tables:
            for word, day in (("arrives", dates.arrives), ("leaves", dates.leaves)):
                if day is not None and day >= end:
                    yield doubt_at(scenario, (*path, word), found=str(day), usual=usual)


def mock_up_doubts(scenario: Scenario) -> Iterator[Doubt]:
    """Doubts about a mock-up that begins after the first panels are due."""
    mock_up = scenario.settings.mock_up
    due = [day for row in scenario.levels.delivery for day in row if day is not None]
    if mock_up is None or mock_up.start is None or not due or mock_up.start <= min(due):
        return
    late = (mock_up.start - min(due)).days
    found = f"{mock_up.start}, {late} days after the first delivery of {min(due)}"
    yield doubt_at(
        scenario, ("mock_up", "start"), found=found, usual="a mock-up that has passed before panels come"
    )


def handover_doubts(scenario: Scenario) -> Iterator[Doubt]:
    """Doubts about levels that are handed over before the level below."""
    levels = scenario.levels
    for level, below, own in zip(levels.levels[1:], levels.handover, levels.handover[1:], strict=False):
        if own < below:
            file, line = line_of_level(scenario, level)
            found = f"{own} for level {level}, before level {level - 1} on {below}"
            yield Doubt(file, line, "handover", found, "levels from the lowest up", PRACTICE)


def clock_doubts(scenario: Scenario) -> Iterator[Doubt]:
    """Doubts about a record without the site's clock, and about a clock far from the record's."""
    tower, weather = scenario.settings.tower, scenario.settings.weather
    if weather is None:
        return
    offset_h = float(weather.utc_offset_h)
    if tower.time_zone is None:
        usual = f"the site's zone; without it the clock shows UTC{offset_h:+g}, without summer time"
        yield doubt_at(scenario, ("tower", "time_zone"), found="missing", usual=usual, source=CLOCK_SOURCE)
        return
    moments = [dt.datetime(tower.start.year, month, 1, tzinfo=ZoneInfo(tower.time_zone)) for month in (1, 7)]
    standard_h = min((m.utcoffset() or dt.timedelta()) / dt.timedelta(hours=1) for m in moments)
    # A record in UTC is usual, and meant to be moved.
    if offset_h != 0 and abs(standard_h - offset_h) > MOST_APART_H:
        found = f"UTC{offset_h:+g} of the record, UTC{standard_h:+g} of the site"
        usual = "a record of the same zone, or in UTC: one from elsewhere keeps the hours of its own sun"
        yield doubt_at(scenario, ("weather", "utc_offset_h"), found=found, usual=usual, source=CLOCK_SOURCE)
