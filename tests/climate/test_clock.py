"""The record on the site's clock: summer time, and the hours at which the clock is changed."""

from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from support.spells import stopped_share, work_hours
from towerpace.climate.clock import on_clock
from towerpace.climate.height import gust_ratio
from towerpace.climate.record import Record
from towerpace.climate.source import WeatherSource
from towerpace.faults import InputError
from towerpace.plan.site.weather import weather_of
from towerpace.scenario import load

NEW_YORK = "America/New_York"
NEW_YEAR = date(2013, 1, 1)
BY_HAND = Path(__file__).parents[2] / "scenarios" / "by_hand" / "scenario.toml"


def numbered(years: int = 1) -> Record:
    """A record whose gust is the number of its row."""
    rows = np.arange(8760.0 * years)
    return Record(tuple(range(2013, 2013 + years)), 10.0, rows / 2, rows, np.full(len(rows), True))


def rows_of(source: WeatherSource) -> list[int]:
    """Row of the record at each clock hour of the project."""
    return source.replayed(0).gust_m_s.astype(int).tolist()


def source_of(record: Record, *, first_day: date, n_days: int, zone: str, offset_h: float) -> WeatherSource:
    clock = on_clock(record, time_zone=zone, utc_offset_h=offset_h, first_day=first_day, n_days=n_days)
    return WeatherSource(record, first_day, n_days, clock=clock)


def row_of(*day_and_hour: int) -> int:
    """Row of a clock reading that is taken as the record's own time."""
    return (datetime(*day_and_hour) - datetime(2013, 1, 1)) // timedelta(hours=1)


def test_every_hour_is_the_one_that_the_zone_database_puts_there():
    """Each hour of the record is carried to UTC and from there to the clock, one at a time."""
    source = source_of(numbered(), first_day=NEW_YEAR, n_days=365, zone=NEW_YORK, offset_h=-5)
    reads: dict[datetime, list[int]] = {}
    for row in range(8760):
        moment = datetime(2013, 1, 1, 5, tzinfo=UTC) + timedelta(hours=row)
        reads.setdefault(moment.astimezone(ZoneInfo(NEW_YORK)).replace(tzinfo=None), []).append(row)

    got = rows_of(source)

    missing = datetime(2013, 3, 10, 2)
    for hour, row in enumerate(got):
        clock = datetime(2013, 1, 1) + timedelta(hours=hour)
        # Numbers rise with the rows, so the windier of the two passes is the later one.
        assert row == (max(reads[clock]) if clock != missing else row_of(2013, 3, 10, 2)), clock
    assert missing not in reads
    assert len(reads[datetime(2013, 11, 3, 1)]) == 2


@pytest.mark.parametrize(("first_pass", "second_pass"), [(9.0, 3.0), (3.0, 9.0)])
def test_the_hour_that_comes_twice_takes_its_windier_row_whole(first_pass: float, second_pass: float):
    record = numbered()
    gust, temperature = record.gust_m_s.copy(), np.arange(8760.0)
    passes = [row_of(2013, 11, 3, 0), row_of(2013, 11, 3, 1)]
    gust[passes] = first_pass, second_pass
    changed = Record((2013,), 10.0, record.speed_m_s, gust, record.gust_reported, temperature_c=temperature)
    source = source_of(changed, first_day=date(2013, 11, 3), n_days=1, zone=NEW_YORK, offset_h=-5)

    hours = source.replayed(0)

    assert hours.gust_m_s[1] == 9.0
    assert hours.temperature_c is not None
    assert hours.temperature_c[1] == passes[0 if first_pass > second_pass else 1]


def test_the_hour_that_does_not_exist_takes_the_windier_of_its_neighbours():
    record = numbered()
    before, after = row_of(2013, 3, 10, 1), row_of(2013, 3, 10, 2)
    for windy in (before, after):
        gust = record.gust_m_s.copy()
        gust[windy] = 99_999.0
        changed = Record((2013,), 10.0, record.speed_m_s, gust, record.gust_reported)
        source = source_of(changed, first_day=date(2013, 3, 10), n_days=1, zone=NEW_YORK, offset_h=-5)
        assert source.replayed(0).gust_m_s[2] == 99_999.0
        assert source.replayed(0).gust_m_s[[1, 3]].tolist() == [gust[before], gust[after]]


def test_the_clock_is_that_of_the_project_day_and_not_of_the_record_day():
    """A week of January dealt to July is read by July's clock: seven o'clock meets the record's six."""
    source = source_of(numbered(), first_day=date(2027, 7, 1), n_days=7, zone=NEW_YORK, offset_h=-5)
    dealt = source._dealt(np.arange(7), factors=np.ones(7))
    assert dealt.gust_m_s[24 + 7] == 24 + 6
    # Before the first day of the record lies its last.
    assert dealt.gust_m_s[0] == 8759


def test_a_clock_that_shows_the_records_time_changes_nothing(laguardia: Record):
    plain = WeatherSource(laguardia, date(2027, 3, 1), 800)
    source = source_of(laguardia, first_day=date(2027, 3, 1), n_days=800, zone="Etc/GMT+5", offset_h=-5)
    assert np.array_equal(source.replayed(0).gust_m_s, plain.replayed(0).gust_m_s)


@pytest.mark.parametrize(
    ("zone", "offset_h", "day", "hour", "earlier_h"),
    [
        ("Europe/London", 0, date(2027, 7, 1), 7, 1),
        ("Asia/Kolkata", 5.5, date(2027, 7, 1), 7, 0),
        ("Asia/Kolkata", 0, date(2027, 7, 1), 7, 6),  # record in UTC: 07:00 is 01:30, in the row of 01:00
        ("Australia/Sydney", 10, date(2027, 1, 15), 7, 1),
        ("America/Santiago", -4, date(2027, 7, 1), 7, 0),
    ],
)
def test_zones_east_and_west_and_in_the_south(
    zone: str, offset_h: float, day: date, hour: int, earlier_h: int
):
    source = source_of(numbered(), first_day=day, n_days=1, zone=zone, offset_h=offset_h)
    midnight = (day - date(day.year, 1, 1)).days * 24
    assert rows_of(source)[hour] == midnight + hour - earlier_h


def test_a_change_at_midnight_moves_the_day_from_its_first_hour():
    """Chile sets its clocks forward at the end of a Saturday, so the first hour of the Sunday is missing."""
    source = source_of(numbered(), first_day=date(2025, 9, 6), n_days=2, zone="America/Santiago", offset_h=-4)
    begin = row_of(2013, 9, 6, 0)
    assert rows_of(source) == [*range(begin, begin + 25), *range(begin + 24, begin + 47)]


def test_summer_hours_lost_on_the_record_as_read_and_by_the_clock(laguardia_spread: Record):
    """Gusts above 9.8 m/s at 100 m, terrain IV, Monday to Friday 08:00 to 16:00 on days of summer time.

    29.0 % as read and 26.9 % with the hour shifted, computed apart from this code; with the rounding used
    there a half in the last place is allowed.
    """
    ratio = gust_ratio(100.0, law="en1991", exposure="IV")
    work = work_hours(365, first_day=NEW_YEAR, weekdays=range(5), from_h=8, to_h=16)
    summer = (np.arange(365) >= 68) & (np.arange(365) < 306)  # 10 March to 2 November 2013
    shown = np.repeat(summer, 24) & work
    plain = WeatherSource(laguardia_spread, NEW_YEAR, 365)
    by_clock = source_of(laguardia_spread, first_day=NEW_YEAR, n_days=365, zone=NEW_YORK, offset_h=-5)

    as_read, moved = (
        100 * stopped_share(ratio * source.replayed(0).gust_m_s > 9.8, shown) for source in (plain, by_clock)
    )

    assert as_read == pytest.approx(29.0, abs=0.05)
    assert moved == pytest.approx(26.9, abs=0.05)


def test_a_scenario_reads_its_record_by_its_own_clock():
    new_york = weather_of(load(BY_HAND, {"tower.time_zone": NEW_YORK}))
    fixed, silent = (weather_of(load(BY_HAND, changes)) for changes in ({}, {"tower.time_zone": None}))
    assert new_york is not None
    assert fixed is not None
    assert silent is not None
    shifted, read, unsaid = (source.replayed(0).gust_m_s for source in (new_york, fixed, silent))
    assert np.array_equal(read, unsaid)
    assert np.array_equal(shifted[1:], read[:-1])  # 15 May to 13 June, all in summer time
    moved = weather_of(load(BY_HAND, {"weather.utc_offset_h": -4}))
    assert moved is not None
    assert np.array_equal(moved.replayed(0).gust_m_s[:-1], read[1:])


@pytest.mark.parametrize(
    ("word", "nearest"),
    [
        ("America/Newyork", "America/New_York"),
        ("New York", "America/New_York"),
        ("Londn", "Europe/London"),
        ("localtime", None),
        ("America", None),
        (5, None),
    ],
)
def test_a_wrong_zone_is_a_fault_with_the_nearest(word: object, nearest: str | None):
    with pytest.raises(InputError) as refused:
        load(BY_HAND, {"tower.time_zone": word})
    (fault,) = refused.value.faults
    assert fault.key == "set tower.time_zone"
    if nearest is not None:
        assert fault.nearest == nearest
