"""Weather files against one station-year whose stopped hours are known from apart.

LaGuardia 2013, Monday to Saturday 7 to 17 (3,130 hours), a limit of 9 m/s on gusts, 1.33 times the mean where
none was reported: 897 hours. The table of right and wrong readings was computed apart from this code when the
record was made (pandas, and pvlib for the EPW).
"""

import datetime as dt
import gzip
import tomllib
from pathlib import Path

import numpy as np
import pytest

from bring import weather_files as files
from towerpace.climate.record import read_record

LIMIT = ["--missing-gust-factor", 1.33, "--gust-limit", 9]
REPORTED, NONE = ["--gusts", "reported"], ["--gusts", "none"]
EAST, TEN = ["--utc-offset", -5], ["--height", 10]
METAR = ["--format", "metar", *REPORTED, *LIMIT, *TEN]

RIGHT = {
    "metar": (files.metar, ["metar", *REPORTED, *EAST, *TEN], "897 of 3,130  28.66 %"),
    "lcd 1": (
        lambda path: files.lcd(path, unit="mph"),
        ["lcd", "--unit", "mph", *REPORTED, *EAST, *TEN],
        "897 of 3,130  28.66 %",
    ),
    "lcd 2": (
        lambda path: files.lcd(path, unit="m_s"),
        ["lcd", "--unit", "m_s", *REPORTED, *EAST, *TEN],
        "897 of 3,130  28.66 %",
    ),
    "ghcnh": (files.ghcnh, ["ghcnh", *REPORTED, *EAST, *TEN], "897 of 3,130  28.66 %"),
    "hourly-csv": (files.hourly_csv, ["hourly-csv", *REPORTED], "897 of 3,130  28.66 %"),
    "epw": (files.epw, ["epw", *NONE, *TEN], "631 of 3,130  20.16 %"),
    "isd-lite": (files.isd_lite, ["isd-lite", *NONE, *EAST, *TEN], "631 of 3,130  20.16 %"),
}


@pytest.mark.parametrize("name", RIGHT)
def test_every_format_of_one_record_has_the_known_stopped_hours(name, bring):
    """EPW and ISD-lite have no gusts, so that 1.33 times the mean stands for all: 631 hours."""
    write, words, stopped = RIGHT[name]
    run = bring("weather", write("source.txt"), "--format", *words, *LIMIT)
    assert f"gust 9 m/s  {stopped}" in run.text
    assert "8,760 brought in" in run.text
    brought = read_record("weather.csv", missing_gust_factor=1.33, knots=False, needed=())
    ours = read_record(files.RECORD, missing_gust_factor=1.33, knots=False)
    assert brought.years == (2013,)
    # Half a knot at most, where an hour of the record was interpolated.
    assert np.abs(brought.speed_m_s - ours.speed_m_s).max() < 0.26
    if "reported" in words:
        assert np.array_equal(brought.gust_reported, ours.gust_reported)


def test_an_epw_has_the_mean_wind_and_the_rain_that_pvlib_reads(bring):
    """Mean 4.7543 m/s and 968.4 mm by pvlib.iotools.read_epw of the same record."""
    bring("weather", files.epw("a.epw"), "--format", "epw", *NONE, *TEN, *LIMIT)
    record = read_record("weather.csv", missing_gust_factor=1.33, knots=False)
    assert record.speed_m_s.mean() == pytest.approx(4.7543, abs=5e-5)
    assert record.rain_mm.sum() == pytest.approx(968.4, abs=0.05)


def test_an_epw_hour_taken_as_starting_gives_other_hours(bring):
    """617 is what comes of reading hour 1 as the hour from 01:00: each value then stands an hour late."""
    rows = files.rows()
    late = [
        files.Row(row.hour, rows[k - 1].speed, None, row.temperature, 0, 16) for k, row in enumerate(rows)
    ]
    run = bring("weather", files.epw("late.epw", of=late), "--format", "epw", *NONE, *TEN, *LIMIT)
    assert "gust 9 m/s  617 of 3,130" in run.text


def test_the_mean_held_against_a_gust_limit(bring):
    run = bring("weather", files.metar("a.txt"), *METAR, *EAST, "--mean-limit", 9)
    assert "gust 9 m/s  897 of 3,130  28.66 %" in run.text
    assert "mean 9 m/s  198 of 3,130   6.33 %" in run.text


def test_utc_taken_as_local_time_is_seen_in_the_mean_day(bring):
    """683 hours (21.82 %) are read wrongly so; the file must be said to be in UTC by its offset."""
    path = files.metar("a.txt")
    assert "--utc-offset: missing, the file is in UTC" in bring("weather", path, *METAR).faults
    run = bring("weather", path, *METAR, "--utc-offset", 0, "--fill-gaps", 5)
    assert "gust 9 m/s  683 of 3,130  21.82 %" in run.text
    assert "! The windiest hour of the mean day begins at " in run.text
    assert "windiest" not in bring("weather", path, *METAR, *EAST, "--replace").text


@pytest.mark.parametrize(
    ("first", "last", "stopped"),
    [((2013, 3, 31), (2013, 10, 27), 873), ((2013, 3, 10), (2013, 11, 3), 872)],
    ids=["dates of Europe", "dates of New York"],
)
def test_daylight_saving_stamps_are_refused_for_the_hour_that_they_jump(first, last, stopped, bring):
    """The table's 873 come with the summer time of Europe; with that of New York they are 872."""

    def wall_clock(hour):
        summer = dt.datetime(*first, 2) <= hour < dt.datetime(*last, 1)
        return hour + dt.timedelta(hours=1) if summer else hour

    path = files.lcd("a.csv", unit="m_s", clock=wall_clock)
    words = ["--format", "lcd", "--unit", "m_s", *REPORTED, *EAST, *TEN, *LIMIT]
    spring = dt.date(*first)
    assert f"{spring} 02:00: missing 1 hour; allowed: every hour" in bring("weather", path, *words).faults
    assert f"gust 9 m/s  {stopped} of 3,130" in bring("weather", path, *words, "--fill-gaps", 1).text


def test_knots_said_to_be_metres_a_second_are_asked_about(bring):
    path = files.hourly_csv("a.csv", unit="m/s", factor=3600 / 1852)
    words = ["--format", "hourly-csv", *REPORTED, *LIMIT]
    assert "unit m_s: found a mean wind of 9.2 m/s, more than" in bring("weather", path, *words).faults
    assert "gust 9 m/s  2,473 of 3,130  79.01 %" in bring("weather", path, *words, "--unit-confirmed").text


def test_kilometres_an_hour_said_to_be_metres_a_second_are_refused(bring):
    path = files.hourly_csv("a.csv", unit="m/s", factor=3.6)
    words = ["--format", "hourly-csv", *REPORTED, *LIMIT]
    assert (
        "wind_speed: found 64.84; allowed: a number from 0 to 60 m_s" in bring("weather", path, *words).faults
    )
    words += ["--leave-out", "--fill-gaps", 1]
    assert "a mean wind of 17.1 m/s" in bring("weather", path, *words).faults
    assert "gust 9 m/s  2,963 of 3,130  94.66 %" in bring("weather", path, *words, "--unit-confirmed").text


def test_what_no_file_says_is_asked_all_at_once(bring):
    words = ["--format", "isd-lite", *REPORTED, *LIMIT]
    faults = bring("weather", files.isd_lite("a.txt"), *words).faults
    assert "a.txt: 3 faults" in faults
    for said in (
        "--utc-offset: missing",
        "--height: missing",
        "--gusts: found reported, of a file without gusts",
    ):
        assert said in faults


def test_what_a_file_says_itself_cannot_be_said_otherwise(bring):
    words = ["--format", "hourly-csv", *REPORTED, *LIMIT, "--height", 100, "--utc-offset", 1]
    faults = bring("weather", files.hourly_csv("a.csv"), *words).faults
    assert "--utc-offset: found 1; allowed: -5, as the file says" in faults
    assert "--height: found 100; allowed: 10, as the file says" in faults
    assert (
        '--unit: found "missing for lcd"'
        in bring("weather", "a.csv", "--format", "lcd", *REPORTED, *LIMIT).faults
    )


def test_a_limit_must_be_said(bring):
    words = ["--format", "metar", *REPORTED, "--missing-gust-factor", 1.33]
    assert '--gust-limit: found "no limit"' in bring("weather", files.metar("a.txt"), *words).faults


def test_an_epw_hour_that_no_day_has_is_refused(bring):
    path = files.epw("a.epw")
    text = Path(path).read_text().replace("2013,1,1,24,60", "2013,1,1,25,60")
    Path(path).write_text(text)
    words = ["--format", "epw", *NONE, *TEN, *LIMIT]
    assert "line 32  row: found 2013,1,1,25,60" in bring("weather", path, *words).faults


def test_a_typical_year_is_put_into_a_year_and_warned_of(bring):
    months = {month: 1980 + month for month in range(1, 13)}
    path = files.epw("typical.epw", years=months)
    words = ["--format", "epw", *NONE, *TEN, *LIMIT]
    assert "--as-year: missing, for months of 1981 to 1992" in bring("weather", path, *words).faults
    run = bring("weather", path, *words, "--as-year", 2013)
    assert "631 of 3,130" in run.text
    assert "! A typical year, months of different years" in run.text


def without(path, *lines):
    kept = [text for k, text in enumerate(Path(path).read_text().splitlines(), 1) if k not in lines]
    Path(path).write_text("\n".join(kept) + "\n")
    return path


def test_missing_hours_are_refused_or_repeat_the_hour_before_and_are_listed(bring):
    path = without(files.metar("a.txt"), 101, 102, 5000)
    faults = bring("weather", path, *METAR, *EAST).faults
    assert "a.txt: 2 faults" in faults
    assert (
        "2013-01-05 04:00 to 2013-01-05 05:00: missing 2 hours; allowed: every hour of whole years" in faults
    )
    assert "--fill-gaps 2 repeats the hour before" in faults
    assert "1 fault" in bring("weather", path, *METAR, *EAST, "--fill-gaps", 1).faults
    run = bring("weather", path, *METAR, *EAST, "--fill-gaps", 2)
    assert "8,760 hours of 2013: 3 filled" in run.text
    left_out = tomllib.loads(Path("weather.provenance.toml").read_text())["sums"]["left_out"]
    assert left_out[0] == "filled: 2013-01-05 04:00, 2 h as the hour before"
    written = Path("weather.csv").read_text().splitlines()
    before, *filled = (line.split(",") for line in written[100:103])
    assert [row[1:-1] for row in filled] == [before[1:-1]] * 2
    assert [row[-1] for row in (before, *filled)] == ["O", "F", "F"]


def test_a_report_that_cannot_be_true_is_refused_or_listed(bring):
    """A speed of 1048, as a known public record has it, and a gust below its speed."""
    path = files.ghcnh("a.psv")
    text = Path(path).read_text().splitlines()
    for line, speed, gust in ((4000, "1048.0", ""), (5000, "9.0", "4.0")):
        cells = text[line - 1].split("|")
        cells[13], cells[19] = speed, gust
        text[line - 1] = "|".join(cells)
    Path(path).write_text("\n".join(text))
    words = ["--format", "ghcnh", *REPORTED, *LIMIT, *EAST, *TEN]
    faults = bring("weather", path, *words).faults
    assert "line 4000  wind_speed: found 1048; allowed: a number from 0 to 60 m_s, or --leave-out" in faults
    assert "line 5000  wind_gust: found 4 with a speed of 9" in faults
    run = bring("weather", path, *words, "--leave-out", "--fill-gaps", 1)
    assert "8,760 reports: 8,758 brought in, 2 left out (2 that cannot be true)" in run.text


def test_values_that_failed_a_check_of_the_archive_are_missing(bring):
    path = files.ghcnh("a.psv", quality=lambda k: "3" if k in (10, 700) else "1")
    words = ["--format", "ghcnh", *REPORTED, *LIMIT, *EAST, *TEN, "--fill-gaps", 1]
    run = bring("weather", path, *words)
    assert "2 filled" in run.text
    assert "speeds and gusts that failed a check of the archive are missing" in run.text


def test_lines_that_are_no_reports_are_counted(bring):
    path = files.metar("a.txt")
    Path(path).write_text("# station KXYZ\n" + Path(path).read_text() + "NIL=\n")
    run = bring("weather", path, *METAR, *EAST)
    assert "8,762 reports: 8,760 brought in, 2 left out (2 without a report)" in run.text


def test_reports_outside_whole_years_and_on_29_february_are_counted(bring):
    """A file of each UTC year: the first five hours of the next belong to the local year."""
    rows = files.rows()
    begin = dt.datetime(2016, 1, 1)
    leap = [
        files.Row(begin + dt.timedelta(hours=k), rows[k % 8760].speed, None, 5, 0, 16)
        for k in range(-24, 8784 + 48)
    ]
    run = bring("weather", files.metar("a.txt", of=leap), *METAR, *EAST)
    assert "8,760 hours of 2016" in run.text
    assert "72 outside the whole years" in run.text
    assert "24 on 29 February" in run.text


def test_two_files_of_a_station_are_one_record(bring):
    text = Path(files.metar("a.txt")).read_text().splitlines(keepends=True)
    Path("first.txt").write_text("".join(text[:4000]))
    Path("second.txt").write_text("".join(text[4000:]))
    assert "897 of 3,130" in bring("weather", "second.txt", "first.txt", *METAR, *EAST).text


def test_lines_without_a_date_take_their_month_from_the_user(bring):
    path = files.metar("a.txt", dated=False)
    assert (
        "010551Z: found no date on the line; allowed: one before the report, or --first-month"
        in bring("weather", path, *METAR, *EAST).faults
    )
    assert "897 of 3,130" in bring("weather", path, *METAR, *EAST, "--first-month", "2013-01").text


NO_FILE = {
    "epw": ("Dear all,\n", "LOCATION: missing; allowed: an EPW file"),
    "isd-lite": ("2013 01 01 00 12\n", "line 1  row: found 2013 01 01 00 12; allowed: twelve whole numbers"),
    "ghcnh": ("a|b\n1|2\n", "Year: missing column"),
    "hourly-csv": ("when,wind\n", "time: missing heading"),
    "metar": ("Dear all,\n", "wind: missing in all lines"),
}


@pytest.mark.parametrize("form", NO_FILE)
def test_a_file_of_another_kind_is_one_clear_fault(form, bring):
    text, said = NO_FILE[form]
    Path("a.txt").write_text(text)
    assert said in bring("weather", "a.txt", "--format", form, *NONE, *LIMIT, *EAST, *TEN).faults


def test_headings_without_a_unit_or_with_two_winds_are_refused(bring):
    words = ["--format", "hourly-csv", *REPORTED, *LIMIT]
    text = Path(files.hourly_csv("a.csv")).read_text()
    Path("a.csv").write_text(text.replace("wind_gusts_10m (km/h)", "wind_gusts_10m (bft)"))
    assert (
        'wind_gusts_10m (bft): found the unit "bft"; allowed: km/h, m/s'
        in bring("weather", "a.csv", *words).faults
    )
    Path("a.csv").write_text(text.replace("temperature_2m (°C)", "wind_speed_100m (km/h)"))
    assert (
        "wind: found several: wind_speed_100m (km/h), wind_speed_10m (km/h)"
        in bring("weather", "a.csv", *words).faults
    )


def test_a_packed_file_is_read_and_a_cut_one_refused(bring):
    packed = gzip.compress(Path(files.metar("a.txt")).read_bytes())
    Path("a.gz").write_bytes(packed)
    assert "897 of 3,130" in bring("weather", "a.gz", *METAR, *EAST).text
    Path("cut.gz").write_bytes(packed[:5000])
    assert "allowed: a whole gzip file" in bring("weather", "cut.gz", *METAR, *EAST, "--replace").faults


def test_half_a_year_is_no_record(bring):
    path = without(files.metar("a.txt"), *range(4000, 9000))
    assert "allowed: at least half a calendar year of reports" in bring("weather", path, *METAR, *EAST).faults
