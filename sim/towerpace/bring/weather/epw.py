"""EPW: eight lines of headings and a row of 35 fields for every hour of one year, mostly a typical one.

Hours are numbered 1 to 24 and named by their end, in local standard time; speeds in m/s; there are no gusts.
"""

import datetime as dt
from pathlib import Path

from towerpace.bring.refusals import refuse
from towerpace.bring.weather.reports import Reports, StationReport, number, text_lines
from towerpace.faults import Fault, InputError

HEADING_LINES, FIELDS = 8, 35
HOURS_A_DAY = 24
YEAR, MONTH, DAY, HOUR = range(4)
TEMPERATURE, SPEED, VISIBILITY, WEATHER, CODES, RAIN = 6, 21, 24, 26, 27, 33  # numbered as N6, N21, ...
THUNDER_CODES = ("0", "1")


def epw_reports(path: Path) -> Reports:
    """Reports of an EPW file.

    Raises
    ------
    InputError
        If it has no headings, or with every row that cannot be read.
    """
    file, lines = str(path), text_lines(path)
    found = Reports(path, "m_s", "standard", gusts=False, utc_offset_h=_offset_h(lines, file=file))
    faults, years = [], set()
    for line, text in enumerate(lines[HEADING_LINES:], HEADING_LINES + 1):
        if not text.strip():
            continue
        try:
            found.reports.append(_report(text.split(","), line=line))
            years.add(int(text.split(",")[YEAR]))
        except (ValueError, IndexError):
            faults.append(Fault(file, line, "row", text[:40], f"{FIELDS} fields of numbers"))
    refuse(faults)
    if len(years) > 1:
        found.typical_of = tuple(sorted(years))
        found.notes.append("a typical year, months of different years: it understates how years differ")
    return found


def _offset_h(lines: list[str], *, file: str) -> float:
    """Standard time from UTC, as the first line says it. [h]"""
    location = lines[0].split(",") if lines else []
    if len(location) < 10 or location[0] != "LOCATION" or len(lines) <= HEADING_LINES:
        allowed = "an EPW file: 8 lines of headings, the first LOCATION,..."
        raise InputError([Fault(file, 1, "LOCATION", "missing", allowed)])
    try:
        return float(location[8])
    except ValueError:
        fault = Fault(file, 1, "LOCATION, time zone", location[8] or "a blank", "hours from UTC")
        raise InputError([fault]) from None


def _report(cells: list[str], *, line: int) -> StationReport:
    if len(cells) < FIELDS - 1:  # the last one is absent in older files
        raise ValueError
    year, month, day, hour = (int(cells[k]) for k in (YEAR, MONTH, DAY, HOUR))
    if not 1 <= hour <= HOURS_A_DAY:
        raise ValueError
    rain = number(cells[RAIN])
    known = cells[WEATHER].strip() == "0"
    return StationReport(
        line,
        dt.datetime(year, month, day) + dt.timedelta(hours=hour),
        number(cells[SPEED], missing=(999,)),
        temperature_c=number(cells[TEMPERATURE], missing=(99.9,)),
        rain_mm=None if rain is None or rain >= 999 else rain,
        visibility_km=number(cells[VISIBILITY], missing=(9999,)),
        thunder=cells[CODES].strip().zfill(9)[0] in THUNDER_CODES if known else None,
    )
