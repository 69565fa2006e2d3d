"""GHCNh: a row a report, cells between bars, every quantity with five columns of its own codes; UTC, m/s.

A value that failed a check of the archive bears a code in its column of quality and is read as missing.
Codes 2, 3, 6 and 7 are those of suspect and wrong values in the older archives, letters those of the checks
of the newest (from memory).
"""

import csv
import datetime as dt
from collections.abc import Mapping
from pathlib import Path

from towerpace.bring.refusals import refuse
from towerpace.bring.weather.reports import Reports, StationReport, number, refuse_without, text_lines
from towerpace.faults import Fault

SPEED, GUST = "wind_speed", "wind_gust"
WRONG = frozenset("2367")
PARTS = ("Year", "Month", "Day", "Hour", "Minute")


def ghcnh_reports(path: Path) -> Reports:
    """Reports of a GHCNh file.

    Raises
    ------
    InputError
        If a column is missing, or with every row that cannot be read.
    """
    file, rows = str(path), csv.DictReader(text_lines(path), delimiter="|")
    headings = rows.fieldnames or []
    needed = (*(("DATE",) if "DATE" in headings else PARTS), SPEED, GUST)
    refuse_without(needed, headings=headings, file=file, allowed="a GHCNh file, bars between cells")
    found = Reports(path, "m_s", "UTC")
    faults, failed = [], 0
    for row in rows:
        try:
            report = _report(row, line=rows.line_num)
        except ValueError as error:
            faults.append(Fault(file, rows.line_num, "row", str(error), "a date and numbers"))
            continue
        failed += _failed(row, key=SPEED, value=report.speed) + _failed(row, key=GUST, value=report.gust)
        found.reports.append(report)
    refuse(faults)
    if failed:
        found.notes.append(f"{failed} speeds and gusts that failed a check of the archive are missing")
    return found


def _failed(row: Mapping[str, str], *, key: str, value: float | None) -> bool:
    """Whether something stands in a cell that was read as missing."""
    return value is None and bool((row[key] or "").strip())


def _report(row: Mapping[str, str], *, line: int) -> StationReport:
    return StationReport(
        line,
        _made(row),
        _good(row, SPEED),
        _good(row, GUST),
        temperature_c=_good(row, "temperature"),
        rain_mm=_good(row, "precipitation"),
        visibility_km=_good(row, "visibility"),
    )


def _made(row: Mapping[str, str]) -> dt.datetime:
    if row.get("DATE"):
        return dt.datetime.fromisoformat(row["DATE"]).replace(tzinfo=None)
    year, month, day, hour, minute = (int(row[part]) for part in PARTS)
    return dt.datetime(year, month, day, hour, minute)


def _good(row: Mapping[str, str], key: str) -> float | None:
    """A value that passed its checks; a trace of rain is none to stop for."""
    quality = (row.get(f"{key}_Quality_Code") or "").strip()
    if quality in WRONG or quality.isalpha():
        return None
    if (row.get(f"{key}_Measurement_Code") or "").strip().startswith("T") and key == "precipitation":
        return 0.0
    return number(row.get(key) or "", missing=(-9999, 999.9))
