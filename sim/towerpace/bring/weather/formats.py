"""Formats of weather files by name."""

import datetime as dt
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType

from towerpace.bring.weather.epw import epw_reports
from towerpace.bring.weather.ghcnh import ghcnh_reports
from towerpace.bring.weather.hourly_csv import hourly_csv_reports
from towerpace.bring.weather.isd_lite import isd_lite_reports
from towerpace.bring.weather.lcd import lcd_reports
from towerpace.bring.weather.metar import metar_reports
from towerpace.bring.weather.reports import Reports, Unit


@dataclass(frozen=True, slots=True)
class Hints:
    """What the user says before a file is read, where its format leaves it open.

    unit : of an LCD file. first_month : of METAR lines without a date.
    """

    unit: Unit | None = None
    first_month: dt.date | None = None


FORMATS: Mapping[str, Callable[[Path, Hints], Reports]] = MappingProxyType(
    {
        "epw": lambda path, _: epw_reports(path),
        "isd-lite": lambda path, _: isd_lite_reports(path),
        "lcd": lambda path, hints: lcd_reports(path, unit=hints.unit or "m_s"),
        "ghcnh": lambda path, _: ghcnh_reports(path),
        "hourly-csv": lambda path, _: hourly_csv_reports(path),
        "metar": lambda path, hints: metar_reports(path, first_month=hints.first_month),
    }
)
UNSAID_UNIT = ("lcd",)
LCD_UNITS: tuple[Unit, ...] = ("mph", "m_s")
