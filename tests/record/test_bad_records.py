"""Every fault of the files of a site is told with file, line, what stands there and what may stand there."""

import datetime as dt

import numpy as np
import pytest

from support.site_record import START, faults_of, recorded
from towerpace.record.places import column_faults
from towerpace.record.wind import WindReader
from towerpace.scenario.tables import read_table

GOOD = "2027-03-05,brackets,1,north,12,"


def test_a_good_sheet_has_no_fault(tmp_path):
    assert faults_of(tmp_path, GOOD) == []


@pytest.mark.parametrize(
    ("rows", "fault"),
    [
        ("2027-03-05,brakets,1,north,12,", 'line 2  what: found "brakets"; allowed: handover, '),
        ("2027-03-05,brackets,9,north,12,", 'line 2  level: found "9"; allowed: a level from 1 to 4'),
        ("2027-03-05,brackets,1,nord,12,", 'line 2  zone: found "nord"; allowed: north, east'),
        ("2027-03-05,handover,1,north,yes,", 'line 2  zone: found "north"; allowed: an empty cell'),
        ("2027-03-05,panels,1,north,18,", 'line 2  done: found "18"; allowed: a whole number from 0 to 9'),
        ("2027-03-05,panels,1,north,2.5,", 'line 2  done: found "2.5"; allowed: a whole number from 0 to 9'),
        ("2027-03-05,brackets,1,north,-3,", 'line 2  done: found "-3"; allowed: 0 to 20, a share as 60%'),
        ("2027-03-05,brackets,1,north,101%,", 'line 2  done: found "101%"'),
        ("2027-03-05,mock_up,,,maybe,", 'line 2  done: found "maybe"; allowed: passed, failed, no'),
        ("2027-03-05,risk permit refused,,,12,", 'line 2  done: found "12"; allowed: yes (it has befallen)'),
        ("2027-03-05,risk permit,,,yes,", 'line 2  what: found "risk permit"'),
        ("5 Mar,brackets,1,north,12,", 'line 2  date: found "5 Mar"; allowed: a date as 2027-06-25'),
        ("2027-02-28,brackets,1,north,12,", "line 2  date: found 2027-02-28; allowed: a date on or after"),
        (
            "2027-03-05,masts,1,,1,",
            "line 2  level, zone: found L1; allowed: a level that has any of masts",
        ),
        ("2027-03-05,brackets,1,north,,", "done: missing: no row tells anything"),
    ],
)
def test_a_bad_row_of_the_sheet(tmp_path, rows, fault):
    (told,) = faults_of(tmp_path, rows)
    assert told.startswith(f"progress.csv {fault}")


def test_the_nearest_word_is_named(tmp_path):
    (told,) = faults_of(tmp_path, "2027-03-05,bracket,1,north,12,")
    assert told.endswith("nearest: brackets")


def test_two_words_for_one_front_and_day_name_both_lines(tmp_path):
    (told,) = faults_of(tmp_path, f"{GOOD}\n2027-03-05,brackets,1,north,60%,\n{GOOD}")
    assert "line 3" in told
    assert "line 2 says 12" in told


def test_what_falls_names_both_lines(tmp_path):
    (told,) = faults_of(tmp_path, "2027-03-05,panels,1,north,9,\n2027-03-06,panels,1,north,7,")
    assert "line 3  done: found 7 for panels L1 north, line 2 said 9" in told
    assert "a broken panel goes under holes" in told


def test_holes_may_fall_and_a_mock_up_may_pass_after_it_failed(tmp_path):
    sheet = "2027-03-05,holes,1,north,2,\n2027-03-06,holes,1,north,1,\n2027-03-05,mock_up,,,2,\n"
    assert faults_of(tmp_path, sheet + "2027-03-09,mock_up,,,passed,") == []


def test_all_faults_of_all_files_are_told_at_once(tmp_path):
    told = faults_of(
        tmp_path,
        "2027-03-05,panels,1,north,18,\n2027-03-05,brackets,1,nowhere,1,",
        log="panels,1,north,1,2027-03-04T09:00,2027-03-04T08:00,,set,",
        wind="time,wind_speed_10m_m_s,wind_gust_10m_m_s\n2027-03-01T00:30,3,4",
    )
    assert [line.split()[0] for line in told] == ["progress.csv"] * 2 + ["log.csv", "wind.csv"]


@pytest.mark.parametrize(
    ("row", "fault"),
    [
        ("panels,1,north,1,2027-03-04T09:00,2027-03-04T08:00,,set,", "finish: found 2027-03-04T08:00"),
        ("brackets,1,north,,2027-03-04,2027-03-03,,,", "finish: found 2027-03-03; allowed: a moment after"),
        ("panels,1,north,1,2027-03-04T09:00,2027-03-06T08:00,,set,", "finish: found 2027-03-06T08:00"),
        ("panels,1,north,1,2027-02-04T09:00,2027-03-04T08:00,,set,", "start: found 2027-02-04T09:00"),
        ("panels,1,north,1,9 am,2027-03-04T08:00,,set,", 'start: found "9 am"; allowed: a date as'),
        (
            "panels,1,north,12,2027-03-04T09:00,,,set,",
            'panel: found "12"; allowed: a panel or a range as 3-5',
        ),
        ("brackets,1,north,1,2027-03-04T09:00,,,,", 'panel: found "1"; allowed: an empty cell'),
        ("panels,1,north,1,2027-03-04T09:00,,,brokn,", 'outcome: found "brokn"; allowed: set, broken'),
    ],
)
def test_a_bad_row_of_the_log(tmp_path, row, fault):
    told = faults_of(tmp_path, GOOD, log=row)
    assert told
    assert told[0].startswith(f"log.csv line 2  {fault}")


@pytest.mark.parametrize(
    ("sheet", "log", "fault"),
    [
        (
            "2027-03-05,panels,1,north,1,",
            "panels,1,north,1-2,2027-03-04T08:00,2027-03-04T09:00,,set,",
            "2 panels",
        ),
        ("2027-03-05,brackets,1,north,90%,", "brackets,1,north,,2027-03-03,2027-03-04,,,", "finished"),
        ("2027-03-05,handover,1,,no,", "handover,1,,,2027-03-03,2027-03-04,,,", "finished"),
    ],
)
def test_a_log_that_says_more_than_the_sheet_names_both_lines(tmp_path, sheet, log, fault):
    (told,) = faults_of(tmp_path, sheet, log=log)
    assert told.startswith("progress.csv line 2  done")
    assert "log.csv line 2 says" in told
    assert fault in told


def test_a_sheet_may_be_older_than_the_log(tmp_path):
    log = "panels,1,north,1-2,2027-03-05T08:00,2027-03-05T09:00,,set,"
    sheet = "2027-03-04,panels,1,north,0,\n2027-03-05,panels,1,north,2,"
    assert faults_of(tmp_path, sheet, log=log) == []


def test_one_unit_at_two_places_is_a_remark_with_both_lines(tmp_path):
    log = """panels,1,north,1,2027-03-04T08:00,2027-03-04T09:00,gang 1,set,
             panels,1,east,1,2027-03-04T08:59,2027-03-04T10:00,gang 1,set,
             panels,1,north,2,2027-03-04T10:00,2027-03-04T11:00,gang 1,set,"""
    (remark,) = recorded(tmp_path, GOOD, log=log).log.remarks
    assert remark.lines == (3, 2)
    assert "gang 1 is at panels L1 north panel 1 and panels L1 east panel 1" in remark.text


def test_a_time_that_the_clock_shows_twice_is_a_remark(tmp_path):
    """In 2027 New York sets its clock back on 7 November at 02:00 and forward on 14 March."""
    sheet = "2027-11-08,brackets,1,north,12,"
    log = "brackets,1,north,,2027-11-07T01:30,,,,\nbrackets,2,north,,2027-03-14T02:30,,,,"
    twice, never = recorded(tmp_path, sheet, log=log).log.remarks
    assert "the first of the two is meant" in twice.text
    assert "leaves this time out" in never.text


def hourly(first: str, n: int, *, speed: float = 4.0) -> list[str]:
    moment = dt.datetime.fromisoformat(first)
    return [
        f"{(moment + dt.timedelta(hours=k)).isoformat(timespec='minutes')},{speed},{speed + 1}"
        for k in range(n)
    ]


WIND = "time,wind_speed_10m_m_s,wind_gust_10m_m_s"


def test_wind_with_a_gap_and_an_early_end_is_a_remark_and_its_hours_are_unknown(tmp_path):
    rows = hourly("2027-03-01T00:00", 10) + hourly("2027-03-01T12:00", 24)
    record = recorded(tmp_path, GOOD, wind="\n".join([WIND, *rows]))
    (remark,) = record.remarks
    assert "2027-03-01T10:00 to 2027-03-01T12:00" in remark.text
    assert "to 2027-03-06T00:00" in remark.text
    assert record.hours.known.tolist() == [True] * 10 + [False] * 2 + [True] * 24 + [False] * (120 - 36)


@pytest.mark.parametrize(
    ("rows", "fault"),
    [
        ("2027-03-01T00:30,3,4", "time_lst: found 2027-03-01T00:30"),
        ("2027-03-01T00:00,3,2", "wind_gust_10m_m_s: found 2; allowed: a gust of at least"),
        ("2027-03-01T00:00,300,310", "wind_speed_10m_m_s: found 300; allowed: a number from 0 to 60"),
        (
            "2027-03-01T00:00,3,4\n2027-03-01T00:00,3,4",
            "time: found 2027-03-01T00:00; allowed: every hour",
        ),
    ],
)
def test_bad_hours_are_faults_with_their_line(tmp_path, rows, fault):
    line = 1 + len(rows.splitlines())
    told = faults_of(tmp_path, GOOD, wind=f"{WIND}\n{rows}")
    assert any(text.startswith(f"wind.csv line {line}  {fault.replace('time_lst', 'time')}") for text in told)


def test_an_empty_file_is_one_fault_and_not_a_column_each(tmp_path):
    (tmp_path / "empty.csv").write_text("", encoding="utf-8")
    table = read_table(tmp_path / "empty.csv", shown_as="empty.csv")
    (fault,) = column_faults(table, needed=("date", "what"), optional=("note",))
    assert fault.text() == "line 1  columns: found an empty file; allowed: a first line of date, what, note"


def test_a_missing_column_of_any_file_is_a_fault(tmp_path):
    told = faults_of(tmp_path, GOOD, wind="time,wind_speed_10m,wind_gust_10m_m_s\n2027-03-01T00:00,3,4")
    assert any("found a name without a known unit" in text for text in told)


def test_the_hour_that_the_clock_shows_twice_takes_the_windier(tmp_path):
    rows = ["2027-11-07T00:00,1,2", "2027-11-07T01:00,3,4", "2027-11-07T01:00,9,10", "2027-11-07T02:00,2,3"]
    hours = recorded(tmp_path, "2027-11-07,brackets,1,north,12,", wind="\n".join([WIND, *rows])).hours
    first = (dt.date(2027, 11, 7) - START).days * 24
    assert hours.values["speed"][first : first + 3].tolist() == [1, 9, 2]


def test_standard_time_is_laid_onto_the_clock(tmp_path):
    """On 14 March at two the clock jumps to three: from then on it is an hour ahead of standard time."""
    rows = hourly("2027-03-14T00:00", 5)
    text = "\n".join([WIND.replace("time", "time_lst", 1), *rows])
    path = tmp_path / "wind.csv"
    path.write_text(text + "\n", encoding="utf-8")
    hours, _ = WindReader(START, 14 * 1440, zone="America/New_York", utc_offset_h=-5.0).read(path)
    assert np.flatnonzero(hours.known).tolist() == [13 * 24 + hour for hour in (0, 1, 3, 4, 5)]


def test_the_height_may_change_as_the_crane_climbs(tmp_path):
    text = f"{WIND},height_m\n2027-03-01T00:00,3,4,40\n2027-03-01T01:00,3,4,60"
    hours = recorded(tmp_path, GOOD, wind=text).hours
    assert hours.height_m[:2].tolist() == [40, 60]


def test_speeds_that_look_like_km_h_are_a_remark(tmp_path):
    path = tmp_path / "wind.csv"
    path.write_text("\n".join([WIND, *hourly("2027-03-01T00:00", 10, speed=14.4)]) + "\n", encoding="utf-8")
    _, (remark,) = WindReader(START, 600, usual_m_s=4.0).read(path)
    assert "14.4 m/s, 3.6 times the record's 4.0: are they in km/h" in remark.text
