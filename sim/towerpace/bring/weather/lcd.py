"""LCD: a CSV of US stations, of which the hourly reports (FM-15) are read; local standard time.

The first version has whole miles an hour, degrees Fahrenheit, inches and miles; the second metric units. The
file does not say which, so the user does. In a letter behind a number, s stands for suspect; T is a trace.
"""

import csv
import datetime as dt
from collections.abc import Mapping
from pathlib import Path

from towerpace.bring.refusals import refuse
from towerpace.bring.weather.reports import (
    INCH_MM,
    MILE_KM,
    Reports,
    StationReport,
    Unit,
    number,
    refuse_without,
    text_lines,
)
from towerpace.faults import Fault

HOURLY = "FM-15"
SPEED, GUST = "HourlyWindSpeed", "HourlyWindGustSpeed"
TEMPERATURE, RAIN = "HourlyDryBulbTemperature", "HourlyPrecipitation"
VISIBILITY, WEATHER = "HourlyVisibility", "HourlyPresentWeatherType"
NEEDED = ("DATE", "REPORT_TYPE", SPEED, GUST)


def lcd_reports(path: Path, *, unit: Unit) -> Reports:
    """Reports of an LCD file.

    unit : "mph" for the first version, with its other units; "m_s" for the second.

    Raises
    ------
    InputError
        If a column is missing, or with every hourly report that cannot be read.
    """
    file, rows = str(path), csv.DictReader(text_lines(path))
    headings = rows.fieldnames or []
    refuse_without(NEEDED, headings=headings, file=file, allowed=", ".join(NEEDED))
    found = Reports(path, unit, "standard")
    faults, suspect = [], 0
    for row in rows:
        kind = (row["REPORT_TYPE"] or "").strip()
        if kind != HOURLY:
            found.left_out[f"of type {kind or 'unknown'}"] += 1
            continue
        try:
            found.reports.append(_report(row, line=rows.line_num, us_units=unit == "mph"))
        except ValueError as error:
            faults.append(Fault(file, rows.line_num, "row", str(error), "a date and numbers"))
        suspect += any((row.get(key) or "").endswith("s") for key in (SPEED, GUST))
    refuse(faults)
    if suspect:
        found.notes.append(f"{suspect} reports with a speed or gust marked as suspect are kept")
    return found


def _report(row: Mapping[str, str], *, line: int, us_units: bool) -> StationReport:
    def value(key: str) -> float | None:
        cell = (row.get(key) or "").strip().removesuffix("s").removesuffix("V")
        return 0.0 if cell == "T" else number(cell.replace("*", ""))

    temperature, rain, visibility = value(TEMPERATURE), value(RAIN), value(VISIBILITY)
    if us_units:
        temperature = None if temperature is None else round((temperature - 32) / 1.8, 1)
        rain = None if rain is None else round(rain * INCH_MM, 2)
        visibility = None if visibility is None else round(visibility * MILE_KM, 2)
    made = dt.datetime.fromisoformat(row["DATE"])
    # Codes of weather are letters: TS for a thunderstorm, as in "+TSRA" and "VCTS".
    thunder = "TS" in (row.get(WEATHER) or "")
    return StationReport(line, made, value(SPEED), value(GUST), temperature, rain, visibility, thunder)
