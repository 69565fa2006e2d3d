"""Reading a record: what becomes of it, and every refusal with its exact text."""

from collections.abc import Collection
from pathlib import Path
from typing import Protocol

import numpy as np
import pytest

from towerpace.climate.record import Record, read_record
from towerpace.faults import InputError


class Read(Protocol):
    """Writes lines to a file and reads them as a record that faults call wind.csv."""

    def __call__(
        self, lines: list[str], *, knots: bool = False, needed: Collection[str] | None = None
    ) -> Record: ...


HEADER = "time_lst,wind_speed_10m_m_s,wind_gust_10m_m_s,air_temp_degC,precip_mm"

RANGE = "a number from 0 to 60 m/s"
WHOLE_YEARS = "whole years: 8760 rows a year, or 8784 with 29 February"


def year_lines(year: int) -> list[str]:
    hours = np.arange(f"{year}-01-01T00", f"{year + 1}-01-01T00", dtype="datetime64[h]")
    return [HEADER, *(f"{hour}:00,5.0,,10.0,0.0" for hour in hours)]


@pytest.fixture
def sound_lines() -> list[str]:
    """Lines of a file without a fault: 2013, 5 m/s, no gust reported. Line 1 is the header."""
    return year_lines(2013)


@pytest.fixture
def read_lines(tmp_path: Path) -> Read:
    def read(lines: list[str], *, knots: bool = False, needed: Collection[str] | None = None) -> Record:
        path = tmp_path / "record.csv"
        path.write_text("\n".join(lines) + "\n", encoding="utf-8")
        return read_record(path, missing_gust_factor=1.33, knots=knots, shown_as="wind.csv", needed=needed)

    return read


def refusal(
    read: Read, lines: list[str], *, knots: bool = False, needed: Collection[str] | None = None
) -> list[str]:
    with pytest.raises(InputError) as caught:
        read(lines, knots=knots, needed=needed)
    first, *faults = str(caught.value).split("\n")
    assert first == f"wind.csv: {len(faults)} {'fault' if len(faults) == 1 else 'faults'}"
    return [fault.strip() for fault in faults]


def test_a_direction_may_be_blank_and_is_read_only_when_asked_for(
    read_lines: Read, sound_lines: list[str]
) -> None:
    header, *rows = sound_lines
    lines = [f"{header},wind_dir_deg", f"{rows[0]},350", *(f"{row}," for row in rows[1:])]
    direction = read_lines(lines, needed=["direction"]).direction_deg
    assert direction is not None
    assert direction[0] == 350
    assert np.isnan(direction[1:]).all()
    assert read_lines(lines, needed=[]).direction_deg is None
    lines[1] = f"{rows[0]},361"
    (fault,) = refusal(read_lines, lines, needed=["direction"])
    assert fault == "line 2  wind_dir_deg: found 361; allowed: a number from 0 to 360 °"


def test_the_real_record_is_read_whole(laguardia: Record) -> None:
    assert laguardia.years == (2013,)
    assert laguardia.first_year == 2013
    assert laguardia.height_m == 10
    assert len(laguardia.speed_m_s) == len(laguardia.gust_m_s) == 8760
    # 6,718 blank gusts, 968 mm of rain: the record's own provenance file (77 % of the hours, 968 mm).
    assert np.count_nonzero(~laguardia.gust_reported) == 6718
    assert laguardia.rain_mm is not None
    assert laguardia.rain_mm.sum() == pytest.approx(968, abs=0.5)
    assert laguardia.thunder is None


def test_a_gust_not_reported_is_the_factor_times_the_speed(laguardia: Record) -> None:
    silent = ~laguardia.gust_reported

    assert np.array_equal(laguardia.gust_m_s[silent], 1.33 * laguardia.speed_m_s[silent])
    assert (laguardia.gust_m_s >= laguardia.speed_m_s).all()


def test_a_record_cannot_be_written_to(laguardia: Record) -> None:
    with pytest.raises(ValueError, match="read-only"):
        laguardia.speed_m_s[0] = 1.0


@pytest.mark.parametrize(
    ("unit", "printed", "speed_m_s"),
    # International definitions: knot 1852 m/h, mile 1609.344 m.
    [("knots", 10, 10 * 1852 / 3600), ("mph", 11, 11 * 1609.344 / 3600), ("km_h", 36, 10.0)],
)
def test_other_units_are_converted_when_the_name_says_so(
    unit: str, printed: int, speed_m_s: float, sound_lines: list[str], read_lines: Read
) -> None:
    sound_lines[0] = HEADER.replace("m_s", unit)
    sound_lines[1] = f"2013-01-01T00:00,{printed},{2 * printed},10.0,0.0"

    record = read_lines(sound_lines)

    assert record.speed_m_s[0] == pytest.approx(speed_m_s)
    assert record.gust_m_s[0] == pytest.approx(2 * speed_m_s)


def test_29_february_is_dropped_and_may_be_missing(read_lines: Read) -> None:
    years = year_lines(2011) + year_lines(2012)[1:]
    years = [
        line.replace(",5.0,", ",7.0,") if line.startswith(("2012-02-29", "2012-03-01")) else line
        for line in years
    ]
    without = [line for line in years if not line.startswith("2012-02-29")]

    full, short = read_lines(years), read_lines(without)

    assert full.years == short.years == (2011, 2012)
    assert len(full.speed_m_s) == len(short.speed_m_s) == 2 * 8760
    assert np.array_equal(full.speed_m_s, short.speed_m_s)
    # 1 March is day 59 of every record year, from 0.
    assert set(np.flatnonzero(full.speed_m_s == 7.0) // 24) == {365 + 59}


def test_half_of_29_february_is_refused(read_lines: Read) -> None:
    lines = [line for line in year_lines(2012) if not "2012-02-29T00" <= line < "2012-02-29T12"]

    assert refusal(read_lines, lines) == [
        "line 1418  time_lst: found 2012-02-29T12:00 after 2012-02-28T23:00: 12 hours missing; "
        "allowed: every hour once, in order"
    ]


def test_only_what_is_needed_is_read(sound_lines: list[str], read_lines: Read) -> None:
    sound_lines[1] = "2013-01-01T00:00,5.0,,,0.0"

    record = read_lines(sound_lines, needed=["rain"])

    assert record.temperature_c is None
    assert record.rain_mm is not None


def test_thunder_is_yes_or_no(sound_lines: list[str], read_lines: Read) -> None:
    sound_lines = [f"{line},0" for line in sound_lines]
    sound_lines[0] = f"{HEADER},thunder"
    sound_lines[3] = "2013-01-01T02:00,5.0,,10.0,0.0,1"

    record = read_lines(sound_lines)

    assert record.thunder is not None
    assert np.flatnonzero(record.thunder).tolist() == [2]
    sound_lines[3] = "2013-01-01T02:00,5.0,,10.0,0.0,0.5"
    assert refusal(read_lines, sound_lines) == ["line 4  thunder: found 0.5; allowed: 0 or 1"]


def test_a_gap_is_refused(sound_lines: list[str], read_lines: Read) -> None:
    del sound_lines[100:103]

    assert refusal(read_lines, sound_lines) == [
        "line 101  time_lst: found 2013-01-05T06:00 after 2013-01-05T02:00: 3 hours missing; "
        "allowed: every hour once, in order"
    ]


def test_a_repeat_and_a_step_back_are_refused(sound_lines: list[str], read_lines: Read) -> None:
    sound_lines[11] = sound_lines[10]
    sound_lines[20], sound_lines[21] = sound_lines[21], sound_lines[20]

    faults = refusal(read_lines, sound_lines)

    order = "; allowed: every hour once, in order"
    assert faults == [
        f"line 12  time_lst: found 2013-01-01T09:00 after 2013-01-01T09:00: the same hour again{order}",
        f"line 13  time_lst: found 2013-01-01T11:00 after 2013-01-01T09:00: 1 hour missing{order}",
        f"line 21  time_lst: found 2013-01-01T20:00 after 2013-01-01T18:00: 1 hour missing{order}",
        f"line 22  time_lst: found 2013-01-01T19:00 after 2013-01-01T20:00: out of order{order}",
        f"line 23  time_lst: found 2013-01-01T21:00 after 2013-01-01T19:00: 1 hour missing{order}",
    ]


def test_8759_rows_are_refused(sound_lines: list[str], read_lines: Read) -> None:
    assert refusal(read_lines, sound_lines[:-1]) == [
        "line 8760  time_lst: found an end at 2013-12-31T22:00 after 8759 rows; "
        f"allowed: {WHOLE_YEARS}, to 31 December 23:00"
    ]


def test_a_late_beginning_is_refused(sound_lines: list[str], read_lines: Read) -> None:
    del sound_lines[1:25]

    assert refusal(read_lines, sound_lines) == [
        f"line 2  time_lst: found a beginning at 2013-01-02T00:00; "
        f"allowed: {WHOLE_YEARS}, from 1 January 00:00"
    ]


@pytest.mark.parametrize("stamp", ["2013-02-30T00:00", "2013-01-01T09:30", "1 Jan 2013", "2013-01-01T09:00Z"])
def test_a_stamp_that_is_no_full_hour_is_refused(
    stamp: str, sound_lines: list[str], read_lines: Read
) -> None:
    sound_lines[10] = f"{stamp},5.0,,10.0,0.0"

    assert refusal(read_lines, sound_lines) == [
        f"line 11  time_lst: found {stamp}; allowed: a full hour of local standard time, as 2013-01-01T00:00"
    ]


def test_speed_61_is_refused(sound_lines: list[str], read_lines: Read) -> None:
    sound_lines[5] = "2013-01-01T04:00,61,,10.0,0.0"

    assert refusal(read_lines, sound_lines) == [f"line 6  wind_speed_10m_m_s: found 61; allowed: {RANGE}"]


def test_a_speed_in_knots_is_judged_in_knots(sound_lines: list[str], read_lines: Read) -> None:
    sound_lines[0] = HEADER.replace("m_s", "knots")
    sound_lines[5] = "2013-01-01T04:00,117,,10.0,0.0"

    assert refusal(read_lines, sound_lines) == [
        "line 6  wind_speed_10m_knots: found 117; allowed: a number from 0 to 116.6 knots"
    ]


def test_a_negative_speed_a_word_and_a_blank_are_refused_together(
    sound_lines: list[str], read_lines: Read
) -> None:
    for line, cell in ((2, "-0.5"), (3, "calm"), (4, ""), (5, "nan"), (6, "1_0")):
        sound_lines[line] = f"2013-01-01T0{line - 1}:00,{cell},,10.0,0.0"

    assert refusal(read_lines, sound_lines) == [
        f"line {line}  wind_speed_10m_m_s: found {found}; allowed: {RANGE}"
        for line, found in ((3, "-0.5"), (4, "calm"), (5, "a blank"), (6, "nan"), (7, "1_0"))
    ]


def test_a_gust_below_its_speed_is_refused(sound_lines: list[str], read_lines: Read) -> None:
    sound_lines[9] = "2013-01-01T08:00,5.0,4.9,10.0,0.0"

    assert refusal(read_lines, sound_lines) == [
        "line 10  wind_gust_10m_m_s: found 4.9 with wind_speed_10m_m_s 5.0; "
        "allowed: a gust of at least the speed of its hour, or a blank"
    ]


def test_a_blank_temperature_is_refused_while_somebody_reads_it(
    sound_lines: list[str], read_lines: Read
) -> None:
    sound_lines[9] = "2013-01-01T08:00,5.0,,,0.0"

    assert refusal(read_lines, sound_lines) == [
        "line 10  air_temp_degC: found a blank; allowed: a number from -90 to 60 degC"
    ]


def test_an_unknown_unit_is_refused(sound_lines: list[str], read_lines: Read) -> None:
    sound_lines[0] = HEADER.replace("wind_speed_10m_m_s", "wind_speed_10m_kph").replace("degC", "F")

    assert refusal(read_lines, sound_lines) == [
        "line 1  wind_speed_10m_kph: found a name without a known unit; allowed: wind_speed_10m_m_s | "
        "wind_speed_10m_knots | wind_speed_10m_mph | wind_speed_10m_km_h; nearest: wind_speed_10m_mph",
        "line 1  air_temp_F: found a name without a known unit; allowed: air_temp_degC; "
        "nearest: air_temp_degC",
    ]


def test_a_wind_column_without_its_height_is_refused(sound_lines: list[str], read_lines: Read) -> None:
    sound_lines[0] = HEADER.replace("wind_gust_10m_m_s", "wind_gust_m_s")

    assert refusal(read_lines, sound_lines) == [
        "line 1  wind_gust_m_s: found a name without a height; allowed: wind_gust_10m_m_s | "
        "wind_gust_10m_knots | wind_gust_10m_mph | wind_gust_10m_km_h; nearest: wind_gust_10m_m_s"
    ]


def test_missing_columns_are_refused_with_the_nearest_name(sound_lines: list[str], read_lines: Read) -> None:
    sound_lines[0] = HEADER.replace("wind_gust", "gust_wind").replace("precip_mm", "percip_mm")

    faults = refusal(read_lines, sound_lines, needed=["rain"])

    assert faults == [
        "line 1  wind_gust: missing column; allowed: one column wind_gust_10m_m_s | wind_gust_10m_knots | "
        "wind_gust_10m_mph | wind_gust_10m_km_h; nearest: wind_speed_10m_m_s",
        "line 1  precip: missing column; allowed: one column precip_mm; nearest: percip_mm",
    ]


def test_a_record_without_stamps_is_refused(sound_lines: list[str], read_lines: Read) -> None:
    sound_lines[0] = HEADER.replace("time_lst", "time_utc")

    assert refusal(read_lines, sound_lines) == [
        "line 1  time_lst: missing column; allowed: one column time_lst; nearest: time_utc"
    ]


def test_two_columns_of_one_quantity_are_refused(sound_lines: list[str], read_lines: Read) -> None:
    sound_lines = [f"{line},9.7" for line in sound_lines]
    sound_lines[0] = f"{HEADER},wind_speed_10m_knots"

    assert refusal(read_lines, sound_lines) == [
        "line 1  wind_speed: found 2 columns: wind_speed_10m_m_s, wind_speed_10m_knots; allowed: one column"
    ]


def test_speed_and_gust_at_two_heights_are_refused(sound_lines: list[str], read_lines: Read) -> None:
    sound_lines[0] = HEADER.replace("wind_gust_10m", "wind_gust_50m")

    assert refusal(read_lines, sound_lines) == [
        "line 1  wind_gust_50m_m_s: found 50 m, the speed 10 m; allowed: one height for speed and gust"
    ]


def test_a_ragged_row_is_refused(sound_lines: list[str], read_lines: Read) -> None:
    sound_lines[7] += ",9"
    sound_lines[8] = ""

    assert refusal(read_lines, sound_lines) == [
        "line 8  row: found 6 cells; allowed: 5 cells, as in the header",
        "line 9  row: found 0 cells; allowed: 5 cells, as in the header",
    ]


def test_a_long_list_is_cut_and_counted(sound_lines: list[str], read_lines: Read) -> None:
    for line in range(101, 151):
        sound_lines[line] = sound_lines[line].replace("5.0", "99")

    faults = refusal(read_lines, sound_lines)

    assert len(faults) == 21
    assert faults[19] == f"line 121  wind_speed_10m_m_s: found 99; allowed: {RANGE}"
    assert faults[20] == f"line 122  wind_speed_10m_m_s: found the same in 30 further rows; allowed: {RANGE}"


def test_all_faults_come_at_once(sound_lines: list[str], read_lines: Read) -> None:
    sound_lines[0] = HEADER.replace("precip_mm", "precip_in")
    sound_lines[5] = "2013-01-01T04:00,61,,10.0,0.0"
    sound_lines[9] = "2013-01-01T08:00,5.0,4.9,10.0,0.0"
    del sound_lines[100]

    keys = [fault.split(":")[0] for fault in refusal(read_lines, sound_lines)]

    assert keys == [
        "line 1  precip_in",
        "line 6  wind_speed_10m_m_s",
        "line 10  wind_gust_10m_m_s",
        "line 101  time_lst",
    ]


def test_a_record_that_is_not_in_knots_cannot_be_declared_so(
    sound_lines: list[str], read_lines: Read
) -> None:
    half_knots_m_s = 3.5 * 1852 / 3600  # as far from whole knots as can be
    lines = [line.replace(",5.0,", f",{half_knots_m_s:.3f},") for line in sound_lines]

    assert refusal(read_lines, lines, knots=True) == [
        "line 1  wind_speed_10m_m_s: found a record in whole knots with 0 % of its speeds on one; "
        "allowed: at least 95 %, or a record not said to be in knots"
    ]


def test_a_file_that_is_not_there_or_holds_nothing_is_refused(tmp_path: Path, read_lines: Read) -> None:
    with pytest.raises(InputError) as caught:
        read_record(tmp_path / "none.csv", missing_gust_factor=1.33, knots=False, shown_as="none.csv")

    assert [fault.found for fault in caught.value.faults] == [
        "missing or unreadable: No such file or directory"
    ]
    assert refusal(read_lines, [HEADER]) == [
        "line 1  file: found no hours; allowed: a header and a row for every hour"
    ]


@pytest.mark.parametrize("factor", [0.99, float("nan"), float("inf")])
def test_a_missing_gust_factor_below_one_is_refused(factor: float, laguardia_file: Path) -> None:
    with pytest.raises(ValueError, match="missing_gust_factor must be at least 1"):
        read_record(laguardia_file, missing_gust_factor=factor, knots=False)


def test_an_unknown_quantity_cannot_be_needed(laguardia_file: Path) -> None:
    with pytest.raises(ValueError, match=r"needed may name .*direction, thunder; got snow"):
        read_record(laguardia_file, missing_gust_factor=1.33, knots=False, needed=["snow"])
