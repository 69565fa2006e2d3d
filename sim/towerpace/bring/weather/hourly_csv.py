"""Hourly CSV of a public weather interface: headings such as `wind_gusts_10m (km/h)` that bear their unit.

A time stands at the end of its hour: the gust is the highest and the rain the sum of the hour before it. Such
hours come from a weather model, not from a station. The clock stands above the headings, as
`utc_offset_seconds`.
"""

import csv
import datetime as dt
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

from towerpace.bring.refusals import refuse
from towerpace.bring.weather.reports import Reports, StationReport, Unit, number, text_lines
from towerpace.faults import Fault, InputError, nearest_word

UNITS: dict[str, Unit] = {
    "km/h": "km_h",
    "m/s": "m_s",
    "kn": "knots",
    "kt": "knots",
    "knots": "knots",
    "mph": "mph",
    "mp/h": "mph",
}
_SPEED = re.compile(r"wind_?speed_(?P<height>\d+)m \((?P<unit>[^)]*)\)")
_GUST = re.compile(r"wind_?gusts?_(?P<height>\d+)m \((?P<unit>[^)]*)\)")
_OTHERS: dict[str, Callable[[float], float]] = {
    "temperature_2m (°C)": lambda value: value,
    "precipitation (mm)": lambda value: value,
    "visibility (m)": lambda value: value / 1000,
}
OFFSET = "utc_offset_seconds"


def hourly_csv_reports(path: Path) -> Reports:
    """Hours of a CSV with units in its headings.

    Raises
    ------
    InputError
        If the time, the wind or its unit is missing or there are several winds, or with every row that
        cannot be read.
    """
    file, numbered = str(path), list(enumerate(csv.reader(text_lines(path)), 1))
    start = next((k for k, (_, cells) in enumerate(numbered) if cells and cells[0] == "time"), None)
    if start is None:
        allowed = "a row of headings that begins with time"
        raise InputError([Fault(file, 1, "time", "missing heading", allowed)])
    line, headings = numbered[start]
    speed, gust = (_wind(headings, pattern) for pattern in (_SPEED, _GUST))
    refuse(_heading_faults(headings, speed=speed, gust=gust, file=file, line=line))
    found = Reports(path, UNITS[speed[0][2]], "standard", height_m=float(speed[0][1]), gusts=bool(gust))
    found.utc_offset_h = _offset(numbered[:start])
    found.notes.append("hours of a weather model, not of a station")
    places = _Places(speed[0][0], gust[0][0] if gust else None, [_place(headings, name) for name in _OTHERS])
    faults = []
    for row_line, cells in numbered[start + 1 :]:
        try:
            if cells:
                found.reports.append(_report(cells, places=places, line=row_line))
        except (ValueError, IndexError):
            faults.append(Fault(file, row_line, "row", ",".join(cells)[:40], "a time and numbers"))
    refuse(faults)
    return found


@dataclass(frozen=True, slots=True)
class _Places:
    """Columns of the quantities; None where there is none."""

    speed: int
    gust: int | None
    others: list[int | None]


def _place(headings: Sequence[str], name: str) -> int | None:
    return headings.index(name) if name in headings else None


def _report(cells: Sequence[str], *, places: _Places, line: int) -> StationReport:
    made = dt.datetime.fromisoformat(cells[0]).replace(tzinfo=None)
    gust = None if places.gust is None else number(cells[places.gust])
    pairs = zip(places.others, _OTHERS.values(), strict=True)
    temperature_c, rain_mm, visibility_km = (_other(cells, place, of) for place, of in pairs)
    return StationReport(line, made, number(cells[places.speed]), gust, temperature_c, rain_mm, visibility_km)


def _wind(headings: Sequence[str], pattern: re.Pattern[str]) -> list[tuple[int, str, str]]:
    """Columns of one wind: place, height, unit."""
    matches = [(k, pattern.fullmatch(name.strip())) for k, name in enumerate(headings)]
    return [(k, match["height"], match["unit"]) for k, match in matches if match]


def _heading_faults(
    headings: Sequence[str],
    *,
    speed: list[tuple[int, str, str]],
    gust: list[tuple[int, str, str]],
    file: str,
    line: int,
) -> list[Fault]:
    faults = []
    names = [headings[k] for k, _, _ in (*speed, *gust)]
    if not speed:
        allowed, nearest = (
            "one heading as wind_speed_10m (m/s)",
            nearest_word("wind_speed_10m (m/s)", headings),
        )
        faults.append(Fault(file, line, "wind speed", "missing", allowed, nearest))
    if len(speed) > 1 or len(gust) > 1:
        allowed = "one speed and one gust: take the other columns away"
        faults.append(Fault(file, line, "wind", f"several: {', '.join(names)}", allowed))
    for place, _, unit in (*speed, *gust):
        if unit not in UNITS:
            faults.append(Fault(file, line, headings[place], f'the unit "{unit}"', ", ".join(UNITS)))
    if len({(height, unit) for _, height, unit in (*speed, *gust)}) > 1 and not faults:
        found = f"different heights or units: {', '.join(names)}"
        faults.append(Fault(file, line, "wind", found, "one height and unit for speed and gust"))
    return faults


def _offset(above: Sequence[tuple[int, Sequence[str]]]) -> float | None:
    """Hours from UTC, from the two lines of headings and values at the top. [h]"""
    for (_, names), (_, values) in pairwise(above):
        if OFFSET in names and len(values) == len(names):
            seconds = number(values[list(names).index(OFFSET)])
            return None if seconds is None else seconds / 3600
    return None


def _other(cells: Sequence[str], column: int | None, of: Callable[[float], float]) -> float | None:
    value = None if column is None else number(cells[column])
    return None if value is None else of(value)
