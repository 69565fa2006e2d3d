"""METAR: reports as stations send them, a line each, in UTC.

A report has no month and no year. They are read from a date before it on its line, as archives write it;
where there is none, the user says the first month and the reports are taken to be in order. Gusts are those
of the ten minutes before the report. VRB is a wind of any direction, 00000 a calm, ///// none measured, P99
more than 99: it is read as 99.
"""

import datetime as dt
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from towerpace.bring.refusals import refuse
from towerpace.bring.weather.reports import INCH_MM, MILE_KM, Reports, StationReport, Unit, text_lines
from towerpace.faults import Fault

UNITS: dict[str, Unit] = {"KT": "knots", "MPS": "m_s", "KMH": "km_h"}
_MADE = re.compile(r"\b(?P<day>\d\d)(?P<hour>\d\d)(?P<minute>\d\d)Z\b")
_WIND = re.compile(
    r"\s(?:VRB|\d{3}|///)(?P<speed>P?\d{2,3}|//)(?:G(?P<gust>P?\d{2,3}|//))?(?P<unit>KT|MPS|KMH)\b"
)
_DATE = re.compile(r"(\d{4})-?(\d\d)-?(\d\d)")
_TEMPERATURE = re.compile(r"\s(M?\d\d)/(?:M?\d\d|//)?(?=\s|$)")
_MILES = re.compile(r"\s(?:(\d+)\s)?[MP]?(?:(\d+)|(\d+)/(\d+))SM\b")
_METRES = re.compile(r"\s(\d{4})(?:NDV)?(?=\s)")
_THUNDER = re.compile(r"\s(?:[-+]|VC)?TS")
_RAIN = re.compile(r"\sP(\d{4})\b")


@dataclass(slots=True)
class _Months:
    """The month that a report without a date belongs to: one further whenever the day falls."""

    year: int | None
    month: int
    day: int = 0

    def date(self, day: int) -> dt.date:
        if self.year is None:
            raise ValueError("no date on the line; allowed: one before the report, or --first-month")
        if day < self.day:
            self.year, self.month = self.year + self.month // 12, self.month % 12 + 1
        self.day = day
        return dt.date(self.year, self.month, day)


def metar_reports(path: Path, *, first_month: dt.date | None = None) -> Reports:
    """Reports of a file of METAR lines.

    first_month : any day of the month of the first report, for lines without a date.

    Raises
    ------
    InputError
        With every report that cannot be dated, if units are mixed, or if there is none.
    """
    file = str(path)
    months = _Months(first_month.year if first_month else None, first_month.month if first_month else 1)
    found = Reports(path, "knots", "UTC")
    faults, units = [], dict[str, int]()
    for line, text in enumerate(text_lines(path), 1):
        made = _MADE.search(text)
        if made is None:
            found.left_out["without a report"] += 1
            continue
        wind = _WIND.search(text, made.end())
        try:
            at = _date(text[: made.start()], int(made["day"]), months=months)
            clock = dt.time(int(made["hour"]), int(made["minute"]))
            found.reports.append(
                _report(text[made.end() :], wind, line=line, made=dt.datetime.combine(at, clock))
            )
        except ValueError as error:
            key = f"{made['day']}{made['hour']}{made['minute']}Z"
            faults.append(Fault(file, line, key, str(error).partition("; ")[0], _allowed(error)))
        if wind is not None:
            units.setdefault(wind["unit"], line)
    faults += list(_file_faults(units, file=file))
    refuse(faults)
    found.unit = UNITS[next(iter(units))]
    return found


def _allowed(error: ValueError) -> str:
    return str(error).partition("allowed: ")[2] or "day, hour and minute of a real time, as 010051Z"


def _date(before: str, day: int, *, months: _Months) -> dt.date:
    """The report's day: the one of this number within a day of the date on the line, which may be local."""
    written = _DATE.search(before)
    if written is None:
        return months.date(day)
    on_line = dt.date(*map(int, written.groups()))
    for days in (0, 1, -1):
        if (near := on_line + dt.timedelta(days=days)).day == day:
            return near
    raise ValueError(f"day {day:02d} on a line of {on_line}; allowed: a date within a day of the report")


def _report(text: str, wind: re.Match[str] | None, *, line: int, made: dt.datetime) -> StationReport:
    body, _, remarks = text.partition(" RMK")
    temperature, rain = _TEMPERATURE.search(body), _RAIN.search(remarks)
    # A station that senses rain (AO2) and sends no amount had none.
    dry = 0.0 if "AO2" in remarks else None
    return StationReport(
        line,
        made,
        speed=_knots(wind["speed"]) if wind else None,
        gust=_knots(wind["gust"]) if wind else None,
        temperature_c=float(temperature[1].replace("M", "-")) if temperature else None,
        rain_mm=int(rain[1]) * INCH_MM / 100 if rain else dry,
        visibility_km=_visibility(body),
        thunder=_THUNDER.search(body) is not None,
    )


def _knots(text: str | None) -> float | None:
    return None if text in (None, "//") else float(text.removeprefix("P"))


def _visibility(body: str) -> float | None:
    if " CAVOK" in body:
        return 10.0
    if miles := _MILES.search(body):
        whole, alone, over, under = miles.groups()
        part = int(over) / int(under) if over and int(under) else 0.0
        return round((int(whole or 0) + int(alone or 0) + part) * MILE_KM, 2)
    metres = _METRES.search(body)
    return int(metres[1]) / 1000 if metres else None


def _file_faults(units: dict[str, int], *, file: str) -> Iterator[Fault]:
    if not units:
        yield Fault(file, None, "wind", "missing in all lines", "METAR lines with a wind as 26012G20KT")
    if len(units) > 1:
        text = " and ".join(f"{unit} (first on line {line})" for unit, line in units.items())
        yield Fault(file, None, "wind", text, "one unit: bring in one station at a time")
