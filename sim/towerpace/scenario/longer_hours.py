"""Calendars that work longer than their usual week, or than in the scenario as it is."""

from collections.abc import Iterable

from towerpace.scenario.calendars import Interval
from towerpace.scenario.load import Scenario
from towerpace.scenario.schema import Calendar

Day = Iterable[Interval]


def longer_hours(base: Scenario, changed: Scenario) -> list[str]:
    """Names of calendars on which somebody works more hours a week, in the order of the file.

    base, changed : the scenario as it is, and with changes laid over it; the same one to ask of it alone.
    A calendar that only the changed one has is new, and counts by its dated hours alone.
    """
    names = []
    for name, calendar in changed.settings.calendar.items():
        usual = base.settings.calendar.get(name, calendar)
        week_min, usual_min = (sum(map(_minutes, c.week.days())) for c in (calendar, usual))
        new = [dated for dated in calendar.dated if base is changed or dated not in usual.dated]
        if week_min > usual_min or any(_adds(calendar, k) for k, d in enumerate(calendar.dated) if d in new):
            names.append(name)
    return names


def _adds(calendar: Calendar, number: int) -> bool:
    """Whether dated hours make a week longer."""
    days = zip(calendar.dated[number].week.days(), calendar.week.days(), strict=True)
    return sum(_minutes(own) - _minutes(usual) for own, usual in days if own is not None) > 0


def _minutes(day: Day) -> int:
    return sum(until - since for since, until in day)
