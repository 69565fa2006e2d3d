"""A file with a forecast of the weather: what it gives, and every fault with its file and line."""

import numpy as np
import pytest

from support.site_record import START
from towerpace.record.foretold import ForetoldReader
from towerpace.record.wind import WindReader
from towerpace.scenario.schema import Weather

DATA_DATE_H, END_H = 48, 240
HEAD = "time,wind_speed_10m_m_s,wind_gust_10m_m_s,issued"
WEATHER = Weather.model_construct(
    record_height_m=10.0,
    missing_gust_factor=1.4,
    height_law="power",
    site_exposure=None,
    gust_exponent=0.1,
    mean_exponent=0.2,
)


def read(folder, rows, *, head=HEAD, usual=4.0):
    path = folder / "forecast.csv"
    path.write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")
    reader = ForetoldReader.like(WindReader(START, END_H * 60, usual_m_s=usual), known_until=DATA_DATE_H * 60)
    return reader.foretold(path, WEATHER), reader.faults


def hour(k, *, speed=5.0, issued="2027-03-02T20:00", more=""):
    return f"2027-03-{1 + k // 24:02d}T{k % 24:02d}:00,{speed},{2 * speed},{issued}{more}"


def test_hours_before_the_data_date_are_not_forecast(tmp_path):
    foretold, faults = read(tmp_path, [hour(k) for k in range(44, 60)])
    assert faults == []
    (member,) = foretold.members
    assert np.isnan(member["speed"][:DATA_DATE_H]).all()
    assert not np.isnan(member["gust"][DATA_DATE_H:60]).any()
    assert (foretold.issued_h, foretold.last_h, foretold.remarks) == (44, 60, ())


def test_members_may_speak_of_the_same_hours(tmp_path):
    rows = [hour(k, speed=speed, more=f",m{speed}") for k in range(48, 52) for speed in (3.0, 9.0)]
    foretold, faults = read(tmp_path, rows, head=f"{HEAD},member")
    assert faults == []
    assert [m["speed"][50] / foretold.members[0]["speed"][50] for m in foretold.members] == [1.0, 3.0]


@pytest.mark.parametrize(
    ("rows", "head", "fault"),
    [
        (
            [hour(50, issued="2027-03-03T01:00")],
            HEAD,
            "line 2  issued: found 2027-03-03T01:00; allowed: a forecast made by the data date",
        ),
        ([hour(50, issued="soon")], HEAD, 'line 2  issued: found "soon"; allowed: a date as'),
        (
            [hour(50), hour(51, issued="2027-03-02T21:00")],
            HEAD,
            'line 3  issued: found "2027-03-02T21:00"; allowed: one forecast a file',
        ),
        ([hour(40)], HEAD, "time: found hours up to 2027-03-02T17:00; allowed: hours after the data date"),
        (["2027-03-03T02:00,5,9"], HEAD.removesuffix(",issued"), "line 1  issued: missing column"),
        ([hour(50), hour(50)], HEAD, "line 3  time: found 2027-03-03T02:00; allowed: every hour once"),
        (["2027-03-03T02:00,much,9,2027-03-02"], HEAD, "line 2  wind_speed_10m_m_s: found"),
    ],
)
def test_a_bad_forecast_is_told_with_its_line(tmp_path, rows, head, fault):
    foretold, faults = read(tmp_path, rows, head=head)
    assert foretold is None
    assert faults[0].text().startswith(fault)


def test_values_like_kilometres_an_hour_are_doubted(tmp_path):
    foretold, faults = read(tmp_path, [hour(k, speed=20.0) for k in range(48, 60)])
    assert faults == []
    assert "are they in km/h or knots?" in foretold.remarks[0].text
