"""What each format writes for nothing, for a trace and for doubt, and that nothing of it becomes a wind.

Sources, all from memory: the weather format of EnergyPlus (N21 and N33 999, hours named by their end,
latin-1 in headings), the technical document of ISD-lite (-9999 missing, -1 a trace), the documentation of
Local Climatological Data (T a trace, s suspect), that of GHCNh (codes of measurement and of quality beside
each value).
"""

import datetime as dt
from pathlib import Path

import pytest

from bring import weather_files as files
from towerpace.bring.weather.epw import epw_reports
from towerpace.bring.weather.ghcnh import ghcnh_reports
from towerpace.bring.weather.isd_lite import isd_lite_reports
from towerpace.bring.weather.lcd import lcd_reports
from towerpace.faults import InputError


@pytest.fixture(autouse=True)
def in_a_folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)


def epw(*, location="LOCATION,Zürich,ZH,CHE,test,066600,47.4,8.5,1.0,500", **fields):
    """One hour of an EPW file; `n21="999"` puts that into its field N21."""
    headings = [location, *("X,0" for _ in range(7))]
    cells = ["0"] * 35
    cells[:5], cells[6], cells[21] = ["2013", "1", "1", "1", "60"], "-3.5", "4.2"
    for key, text in fields.items():
        cells[int(key[1:])] = text
    Path("a.epw").write_bytes("\r\n".join([*headings, ",".join(cells), ""]).encode("latin-1"))
    return Path("a.epw")


def test_an_epw_of_old_letters_is_read_and_its_hour_ends_when_it_says():
    found = epw_reports(epw())
    [report] = found.reports
    assert (report.made, report.speed, report.gust) == (dt.datetime(2013, 1, 1, 1), 4.2, None)
    assert (report.temperature_c, found.utc_offset_h) == (-3.5, 1.0)


def test_nines_of_an_epw_are_no_values():
    [report] = epw_reports(epw(n21="999", n6="99.9", n24="9999", n33="999")).reports
    assert (report.speed, report.temperature_c, report.visibility_km, report.rain_mm) == (None,) * 4


def test_an_epw_without_a_time_zone_is_refused():
    with pytest.raises(InputError, match="LOCATION, time zone: found a blank; allowed: hours from UTC"):
        epw_reports(epw(location="LOCATION,Z,ZH,CHE,test,066600,47.4,8.5,,500"))


def test_missing_and_trace_of_isd_lite():
    Path("a.txt").write_text(
        "2013 01 01 00   -35 -9999 -9999   260    42 -9999    -1 -9999\n"
        "2013 01 01 01 -9999 -9999 -9999   260 -9999 -9999 -9999 -9999\n"
    )
    first, second = isd_lite_reports(Path("a.txt")).reports
    assert (first.speed, first.temperature_c, first.rain_mm) == (4.2, -3.5, 0.0)
    assert (second.speed, second.temperature_c, second.rain_mm) == (None, None, None)


LCD_HEADING = (
    "DATE,REPORT_TYPE,HourlyWindSpeed,HourlyWindGustSpeed,HourlyPrecipitation,"
    "HourlyDryBulbTemperature,HourlyPresentWeatherType\n"
)


def test_letters_of_lcd_are_a_trace_a_doubt_and_a_blank():
    Path("a.csv").write_text(
        LCD_HEADING
        + "2013-01-01T00:51:00,FM-15,10s,23,T,23,+TSRA\n"
        + "2013-01-01T01:51:00,FM-15,*,,0.10s,,\n"
        + "2013-01-01T01:59:00,SOD  ,99,99,,,\n"
    )
    found = lcd_reports(Path("a.csv"), unit="mph")
    first, second = found.reports
    assert (first.speed, first.gust, first.rain_mm, first.thunder) == (10, 23, 0.0, True)
    assert first.temperature_c == pytest.approx((23 - 32) * 5 / 9)
    assert (second.speed, second.gust, second.temperature_c) == (None, None, None)
    assert second.rain_mm == pytest.approx(2.54)
    assert found.notes == ["1 reports with a speed or gust marked as suspect are kept"]
    assert found.left_out == {"of type SOD": 1}


def test_an_unreadable_cell_of_lcd_is_refused_at_its_line():
    Path("a.csv").write_text(LCD_HEADING + "2013-01-01T00:51:00,FM-15,strong,,,,\n")
    with pytest.raises(InputError, match=r"line 2  row: found .*strong"):
        lcd_reports(Path("a.csv"), unit="mph")


@pytest.mark.parametrize(("quality", "speed"), [("", 4.1), ("1", 4.1), ("5", 4.1), ("3", None), ("k", None)])
def test_a_value_of_ghcnh_stands_or_falls_with_its_code_of_quality(quality, speed, monkeypatch):
    row = files.Row(dt.datetime(2013, 1, 1), 4.1, None, 5.0, 0.0, 16.0)
    monkeypatch.setattr(files, "rows", lambda: [row])
    [report] = ghcnh_reports(Path(files.ghcnh("a.psv", quality=lambda _: quality))).reports
    assert report.speed == speed
    assert report.gust is None


def test_a_trace_of_ghcnh_is_no_rain_and_its_blanks_are_no_values(monkeypatch):
    row = files.Row(dt.datetime(2013, 1, 1), 4.1, 999.9, 5.0, 0.3, 16.0)
    monkeypatch.setattr(files, "rows", lambda: [row])
    text = Path(files.ghcnh("a.psv")).read_text().replace("|0.3||", "|0.3|T|").replace("|5.0|", "|-9999|")
    Path("a.psv").write_text(text)
    [report] = ghcnh_reports(Path("a.psv")).reports
    assert (report.rain_mm, report.gust, report.temperature_c) == (0.0, None, None)
