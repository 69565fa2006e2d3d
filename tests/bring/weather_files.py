"""The LaGuardia record written in other formats, as those who publish them would."""

import csv
import datetime as dt
from dataclasses import dataclass
from functools import cache
from pathlib import Path

RECORD = Path(__file__).parents[2] / "scenarios" / "weather" / "laguardia_2013_hourly.csv"
KNOT_M_S, MPH_M_S = 1852 / 3600, 0.44704
EAST = dt.timedelta(hours=5)  # from local standard time to UTC
HOUR, MADE = dt.timedelta(hours=1), dt.timedelta(minutes=51)


@dataclass(frozen=True)
class Row:
    """One hour of the record; `hour` is its beginning in local standard time."""

    hour: dt.datetime
    speed: float
    gust: float | None
    temperature: float
    rain: float
    visibility: float


@cache
def rows():
    with RECORD.open() as lines:
        return [
            Row(
                dt.datetime.fromisoformat(row["time_lst"]),
                float(row["wind_speed_10m_m_s"]),
                float(row["wind_gust_10m_m_s"]) if row["wind_gust_10m_m_s"] else None,
                float(row["air_temp_degC"]),
                float(row["precip_mm"]),
                float(row["visibility_km"]),
            )
            for row in csv.DictReader(lines)
        ]


def knots(speed):
    return round(speed / KNOT_M_S)


def metar(path, *, dated=True, of=None):
    lines = []
    for row in of or rows():
        made = row.hour + MADE + EAST
        gust = f"G{knots(row.gust):02d}" if row.gust is not None else ""
        degrees = round(abs(row.temperature))
        temperature = f"{'M' if row.temperature < 0 else ''}{degrees:02d}/M01"
        rain = f" P{round(row.rain / 0.254):04d}" if row.rain else ""
        date = f"{made:%Y-%m-%d %H:%M} " if dated else ""
        wind = f"{260 if row.speed else 0:03d}{knots(row.speed):02d}{gust}KT"
        lines.append(f"{date}KXYZ {made:%d%H%M}Z {wind} 10SM FEW050 {temperature} A3005 RMK AO2{rain}")
    Path(path).write_text("\n".join(lines) + "\n")
    return path


def epw(path, *, of=None, years=None):
    """Hours are numbered by their end, 1 to 24; there is no gust."""
    heading = ["LOCATION,Airport,NY,USA,test,725030,40.779,-73.880,-5.0,3.0"]
    heading += [
        f"{word},0" for word in ("DESIGN", "TYPICAL", "GROUND", "HOLIDAYS", "COMMENTS 1", "COMMENTS 2")
    ]
    lines = [*heading, "DATA PERIODS,1,1,Data,Sunday,1/1,12/31"]
    for row in of or rows():
        year = (years or {}).get(row.hour.month, row.hour.year)
        cells = ["0"] * 35
        cells[:5] = [str(year), str(row.hour.month), str(row.hour.day), str(row.hour.hour + 1), "60"]
        cells[6], cells[21], cells[24] = f"{row.temperature:.1f}", f"{row.speed:.2f}", f"{row.visibility:.2f}"
        cells[26], cells[27], cells[33] = "9", "999999999", f"{row.rain:.4f}"
        lines.append(",".join(cells))
    Path(path).write_bytes(("\r\n".join(lines) + "\r\n").encode("latin-1"))
    return path


def isd_lite(path):
    """A report made at 51 minutes bears the next full hour of UTC."""
    lines = []
    for row in rows():
        at = row.hour + HOUR + EAST
        cells = [round(10 * row.temperature), -9999, -9999, 260, round(10 * row.speed), -9999]
        cells += [round(10 * row.rain), -9999]
        lines.append(f"{at:%Y %m %d %H}" + "".join(f"{cell:6d}" for cell in cells))
    Path(path).write_text("\n".join(lines) + "\n")
    return path


def lcd(path, *, unit, clock=lambda hour: hour):
    """Version 1 in whole miles an hour, version 2 in m/s; special and daily reports lie between."""
    step = MPH_M_S if unit == "mph" else 0.1
    digits = 0 if unit == "mph" else 1
    columns = [
        "STATION",
        "DATE",
        "REPORT_TYPE",
        "HourlyWindSpeed",
        "HourlyWindGustSpeed",
        "HourlyPrecipitation",
    ]
    lines = [columns]
    for row in rows():
        made = clock(row.hour) + MADE
        speed, gust = (
            ""
            if v is None
            else f"{round(knots(v) * KNOT_M_S / step) * (1 if unit == 'mph' else step):.{digits}f}"
            for v in (row.speed, row.gust)
        )
        rain = "T" if 0 < row.rain < 0.1 else f"{row.rain / 25.4 if unit == 'mph' else row.rain:.2f}"
        lines.append(["72503014732", f"{made:%Y-%m-%dT%H:%M:%S}", "FM-15", speed, gust, rain])
        if made.hour == 12:
            lines.append(["72503014732", f"{made:%Y-%m-%dT%H:%M:%S}", "FM-16 ", "99", "99", ""])
            lines.append(["72503014732", f"{made:%Y-%m-%dT23:59:00}", "SOD  ", "", "", ""])
    with Path(path).open("w", newline="") as out:
        csv.writer(out).writerows(lines)
    return path


def ghcnh(path, *, quality=lambda _: ""):
    codes = ("Measurement_Code", "Quality_Code", "Report_Type", "Source_Code", "Source_Station_ID")
    quantities = ("temperature", "wind_speed", "wind_gust", "precipitation", "visibility")
    heading = ["Station_ID", "Station_name", "Year", "Month", "Day", "Hour", "Minute"]
    heading += [name for q in quantities for name in (q, *(f"{q}_{code}" for code in codes))]
    lines = ["|".join(heading)]
    for k, row in enumerate(rows()):
        made = row.hour + MADE + EAST
        values = [f"{row.temperature:.1f}", f"{row.speed:.1f}", "" if row.gust is None else f"{row.gust:.1f}"]
        values += [f"{row.rain:.1f}", f"{row.visibility:.3f}"]
        cells = ["USW00014732", "AIRPORT", *(str(int(part)) for part in f"{made:%Y %m %d %H %M}".split())]
        cells += [c for v in values for c in (v, "", quality(k), "FM-15", "335", "72503014732")]
        lines.append("|".join(cells))
    Path(path).write_text("\n".join(lines) + "\n")
    return path


def hourly_csv(path, *, unit="km/h", factor=3.6, offset_s=-18000):
    """A time is the end of its hour, on the clock that the second line names."""
    lines = ["latitude,longitude,elevation,utc_offset_seconds,timezone,timezone_abbreviation"]
    lines += [f"40.78,-73.88,3.0,{offset_s},GMT-5,GMT-5", ""]
    lines.append(
        f"time,temperature_2m (°C),precipitation (mm),wind_speed_10m ({unit}),wind_gusts_10m ({unit})"
    )
    for row in rows():
        at = row.hour + HOUR
        gust = "" if row.gust is None else f"{row.gust * factor:.2f}"
        cells = [f"{at:%Y-%m-%dT%H:%M}", f"{row.temperature:.1f}", f"{row.rain:.1f}"]
        lines.append(",".join([*cells, f"{row.speed * factor:.2f}", gust]))
    Path(path).write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path
