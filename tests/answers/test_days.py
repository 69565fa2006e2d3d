"""Working days on calendars with breaks, nights and no end."""

from pathlib import Path

import pytest

from towerpace.answers.days import DAY_MIN, Days
from towerpace.scenario import load

SCENARIO = Path(__file__).parents[2] / "scenarios" / "by_hand" / "scenario.toml"
WEEK = ("mon", "tue", "wed", "thu", "fri")


@pytest.mark.parametrize("hours", [["00:00-24:00"], ["07:00-12:00", "12:30-16:00"], ["20:00-24:00"]])
def test_five_days_a_week_are_five_working_days(hours):
    """Twenty working days are four weeks, whatever the hours; the days are counted from the calendar."""
    days = Days(load(SCENARIO, {"calendar.site.week": dict.fromkeys(WEEK, hours)}).settings)
    count = 0
    for day in range(28):
        count += (days.start.weekday() + day) % 7 < 5
        assert days.working_day((day + 1) * DAY_MIN) == count
    assert count == 20


def test_a_night_belongs_to_its_evening():
    nights = {"mon": ["20:00-24:00"], "tue": ["00:00-06:00"]}
    days = Days(load(SCENARIO, {"calendar.site.week": nights}).settings)
    assert days.working_day(14 * DAY_MIN) == 2
