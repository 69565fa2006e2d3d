"""METAR by the line, as WMO-No. 306, Manual on Codes, FM 15, has them and US stations write their remarks."""

import datetime as dt
from pathlib import Path

import pytest

from towerpace.bring.weather.metar import metar_reports
from towerpace.faults import InputError


def report(text, *, date="2013-01-31"):
    Path("one.txt").write_text(f"{date} KXYZ 310051Z {text}\n")
    return metar_reports(Path("one.txt"))


@pytest.fixture(autouse=True)
def in_a_folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)


@pytest.mark.parametrize(
    ("wind", "speed", "gust", "unit"),
    [
        ("26012G20KT", 12, 20, "knots"),
        ("26006MPS", 6, None, "m_s"),
        ("26022G40KMH", 22, 40, "km_h"),
        ("VRB03KT", 3, None, "knots"),
        ("00000KT", 0, None, "knots"),
        ("260P99KT", 99, None, "knots"),
        ("26040GP99KT", 40, 99, "knots"),
        ("260105G120KT", 105, 120, "knots"),
        ("/////KT", None, None, "knots"),
        ("AUTO 26012KT 240V300", 12, None, "knots"),
    ],
)
def test_winds(wind, speed, gust, unit):
    found = report(f"{wind} 10SM 05/M01 A3005")
    assert (found.reports[0].speed, found.reports[0].gust, found.unit) == (speed, gust, unit)


def test_the_rest_of_a_report():
    found = report("26012KT 1 1/2SM +TSRA BR 02/01 A2992 RMK AO2 P0014 T00220011").reports[0]
    assert found.made == dt.datetime(2013, 1, 31, 0, 51)
    assert found.temperature_c == 2
    assert found.rain_mm == pytest.approx(14 * 0.254)
    assert found.visibility_km == pytest.approx(1.5 * 1.609, abs=0.01)
    assert found.thunder


def test_metres_of_sight_cold_and_no_rain():
    found = report("26006MPS 0800 FG M07/M08 Q1013").reports[0]
    assert (found.visibility_km, found.temperature_c, found.rain_mm, found.thunder) == (0.8, -7, None, False)
    assert report("26006MPS CAVOK 07/08 Q1013 RMK AO2").reports[0].rain_mm == 0
    assert report("26012KT M1/4SM FG 02/01 A2992").reports[0].visibility_km == 0.4


def test_a_local_date_on_the_line_may_be_a_day_from_that_of_the_report():
    assert report("26012KT", date="2013-01-30").reports[0].made == dt.datetime(2013, 1, 31, 0, 51)
    with pytest.raises(InputError, match="day 31 on a line of 2013-02-05; allowed: a date within a day"):
        report("26012KT", date="2013-02-05")


def test_months_and_years_go_on_where_days_fall():
    days = ["30", "31", "01", "15", "31", "01", "28", "01"]
    Path("all.txt").write_text("".join(f"KXYZ {day}0051Z 26012KT\n" for day in days))
    found = metar_reports(Path("all.txt"), first_month=dt.date(2012, 11, 1).replace(month=12))
    months = [(one.made.year, one.made.month) for one in found.reports]
    assert months == [(2012, 12)] * 2 + [(2013, 1)] * 3 + [(2013, 2)] * 2 + [(2013, 3)]


def test_two_units_are_two_stations():
    Path("all.txt").write_text("2013-01-31 A 310051Z 26012KT\n2013-01-31 B 310051Z 26006MPS\n")
    with pytest.raises(InputError, match=r"KT \(first on line 1\) and MPS \(first on line 2\)"):
        metar_reports(Path("all.txt"))
