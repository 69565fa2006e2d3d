"""ISD-lite: twelve numbers a line, rounded to the nearest whole hour of UTC; ten times m/s, degC and mm.

There are no gusts. A time stands for the report nearest to it, mostly made some minutes before.
"""

import datetime as dt
from pathlib import Path

from towerpace.bring.refusals import refuse
from towerpace.bring.weather.reports import Reports, StationReport, text_lines
from towerpace.faults import Fault

FIELDS, MISSING, TRACE = 12, -9999, -1
TEMPERATURE, SPEED, RAIN = 4, 8, 10


def isd_lite_reports(path: Path) -> Reports:
    """Reports of an ISD-lite file.

    Raises
    ------
    InputError
        With every line that is not twelve whole numbers.
    """
    found = Reports(path, "m_s", "UTC", gusts=False)
    faults = []
    for line, text in enumerate(text_lines(path), 1):
        try:
            cells = [int(cell) for cell in text.split()]
            if len(cells) != FIELDS:
                raise ValueError
            year, month, day, hour = cells[:4]
            made = dt.datetime(year, month, day, hour)
        except ValueError:
            faults.append(Fault(str(path), line, "row", text[:40] or "an empty line", "twelve whole numbers"))
            continue
        speed, temperature, rain = (_tenths(cells[k]) for k in (SPEED, TEMPERATURE, RAIN))
        rain = 0.0 if cells[RAIN] == TRACE else rain
        found.reports.append(StationReport(line, made, speed, temperature_c=temperature, rain_mm=rain))
    refuse(faults)
    return found


def _tenths(value: int) -> float | None:
    return None if value == MISSING else value / 10
