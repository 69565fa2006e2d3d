"""What a weather file comes down to: reports, made at a time, on the clock and in the unit of its file."""

import datetime as dt
import gzip
import math
import zlib
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

from towerpace.faults import Fault, InputError, nearest_word

Unit = Literal["m_s", "knots", "mph", "km_h"]
Clock = Literal["UTC", "standard"]

GZIP = b"\x1f\x8b"
INCH_MM, MILE_KM = 25.4, 1.609344


@dataclass(frozen=True, slots=True)
class StationReport:
    """One report: what it tells of is over when it is made.

    Parameters
    ----------
    line : int
        Its line in the file.
    made : datetime
        When it was made or its hour ended, on the clock of the file.
    speed, gust : float or None
        Mean wind and gust; None where missing. [unit of the file]
    temperature_c, rain_mm, visibility_km : float or None
        [degC, mm in the hour, km]
    thunder : bool or None
        None where the file does not say.
    """

    line: int
    made: dt.datetime
    speed: float | None
    gust: float | None = None
    temperature_c: float | None = None
    rain_mm: float | None = None
    visibility_km: float | None = None
    thunder: bool | None = None


@dataclass(slots=True)
class Reports:
    """All reports of one file, and what the file says of them.

    Parameters
    ----------
    path : Path
        The file.
    unit : str
        Unit of the speeds.
    clock : str
        "UTC", or "standard" for the local standard time of the station.
    reports : list of StationReport
        In the order of the file.
    left_out : Counter
        Lines that hold no report of use, by reason.
    utc_offset_h, height_m : float or None
        Of the local clock and the instrument, where the file says them. [h, m]
    gusts : bool
        Whether the format holds gusts.
    typical_of : tuple of int
        Years from which a typical year was put together; empty for a real one.
    notes : list of str
        What people should know.
    """

    path: Path
    unit: Unit
    clock: Clock
    reports: list[StationReport] = field(default_factory=list)
    left_out: Counter[str] = field(default_factory=Counter)
    utc_offset_h: float | None = None
    height_m: float | None = None
    gusts: bool = True
    typical_of: tuple[int, ...] = ()
    notes: list[str] = field(default_factory=list)


def text_lines(path: Path) -> list[str]:
    """Lines of a text file, packed by gzip or not, in UTF-8 or, as old weather files are, in Latin-1.

    Raises
    ------
    InputError
        If it begins as gzip does and cannot be unpacked.
    """
    content = path.read_bytes()
    if content.startswith(GZIP):
        try:
            content = gzip.decompress(content)
        except (OSError, EOFError, zlib.error) as error:
            raise InputError([Fault(str(path), None, "file", f"{error}", "a whole gzip file")]) from error
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = content.decode("latin-1")
    return text.splitlines()


def refuse_without(columns: Sequence[str], *, headings: Sequence[str], file: str, allowed: str) -> None:
    """Refuse a table that lacks columns.

    Raises
    ------
    InputError
        With every missing column and the heading most like it.
    """
    missing = [name for name in columns if name not in headings]
    if missing:
        raise InputError(
            Fault(file, 1, name, "missing column", allowed, nearest_word(name, headings)) for name in missing
        )


def number(cell: str, *, missing: Sequence[float] = ()) -> float | None:
    """The number in a cell; None where it is blank or stands for missing.

    Raises
    ------
    ValueError
        If it is no number.
    """
    if not cell.strip():
        return None
    value = float(cell)
    if not math.isfinite(value):
        raise ValueError(f"{cell!r} is no number")
    return None if value in missing else value
