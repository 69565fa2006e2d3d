"""Reports dealt into hours: which hour a report tells of, and what several of them come to."""

import datetime as dt
from pathlib import Path

import pytest

from towerpace.bring.weather.hourly import HourlyPolicy, hourly
from towerpace.bring.weather.record_text import repeat_short_blanks
from towerpace.bring.weather.reports import Reports, StationReport

YEAR = dt.datetime(2013, 1, 1)
POLICY = HourlyPolicy(utc_offset_h=0.0, gusts=True)


def of_a_year(*extra, without=()):
    """A report at 30 minutes past every hour of a year, and further ones."""
    every = [
        StationReport(k, YEAR + dt.timedelta(hours=k, minutes=30), 5.0, temperature_c=k % 24)
        for k in range(8760)
    ]
    kept = [report for report in every if report.line not in without]
    return Reports(Path("a.txt"), "m_s", "UTC", [*kept, *extra])


def at(found, hour):
    return dict(found.hours)[YEAR + dt.timedelta(hours=hour)]


@pytest.mark.parametrize(("minute", "hour"), [(0, 9), (1, 10), (51, 10), (59, 10)])
def test_a_report_at_the_full_hour_tells_of_the_hour_before(minute, hour):
    strong = StationReport(9000, YEAR + dt.timedelta(hours=10, minutes=minute), 20.0)
    found = hourly([of_a_year(strong)], policy=POLICY)
    assert [k for k in range(24) if at(found, k).speed == 20] == [hour]


def test_an_hour_has_the_highest_wind_and_the_last_temperature():
    first = StationReport(9000, YEAR + dt.timedelta(hours=10, minutes=40), 6.0, 12.0, 3.0, 0.5, 8.0, True)
    last = StationReport(9001, YEAR + dt.timedelta(hours=10, minutes=51), 4.0, None, 2.0, 0.2, 9.0, False)
    found = hourly([of_a_year(last, first)], policy=POLICY)
    got = at(found, 10)
    assert (got.speed, got.gust, got.temperature_c, got.rain_mm, got.visibility_km) == (6, 12, 2, 0.5, 8)
    assert got.thunder is True
    assert found.several == 1


def test_a_gust_below_the_highest_mean_of_its_hour_is_blank():
    """One report has a gust of 8, another a mean of 9: the gust of the hour is then not known."""
    one = StationReport(9000, YEAR + dt.timedelta(hours=10, minutes=40), 4.0, 8.0)
    other = StationReport(9001, YEAR + dt.timedelta(hours=10, minutes=50), 9.0)
    got = at(hourly([of_a_year(one, other)], policy=POLICY), 10)
    assert (got.speed, got.gust) == (9, None)


def test_the_first_hours_of_a_record_repeat_the_first_that_there_is():
    found = hourly([of_a_year(without=(0, 1))], policy=HourlyPolicy(0.0, gusts=True, fill_h=2))
    assert len(found.hours) == 8760
    assert at(found, 0) is at(found, 1) is at(found, 2)
    assert len(found.filled) == 2


def test_blanks_of_another_quantity_repeat_the_value_before_up_to_the_length():
    values = [None, 1.0, None, None, 2.0, None, None, None]
    repeat_short_blanks(values, longest=2)
    assert values == [None, 1.0, 1.0, 1.0, 2.0, None, None, None]
