"""Cells of someone else's level table turned into the text that ours has, or refused."""

import datetime as dt
import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from towerpace.bring.tables import Value
from towerpace.scenario.complaints import shown

Order = Literal["iso", "dmy", "mdy"]

EMPTY = "an empty cell"

_WHOLE = re.compile(r"-?\d{1,9}")
_POINT = re.compile(r"-?\d+(\.\d+)?")
_COMMA = re.compile(r"-?\d+(,\d+)?")
_DATE = re.compile(r"(\d{1,4})[-/. ](\d{1,2})[-/. ](\d{1,4})")
_DATE_ALLOWED = {
    "iso": "a date cell, or text as 2027-03-01 (--dates dmy or mdy says another order)",
    "dmy": "a date, the day first, the year in four digits",
    "mdy": "a date, the month first, the year in four digits",
}


@dataclass(frozen=True, slots=True)
class CellReading:
    """How the source writes what can be written in more than one way.

    decimal_comma : 3,8 is three and eight tenths. dates : order of day and month in text dates.
    level_prefix : what stands before the number of a level, as "L" in L12.
    """

    decimal_comma: bool = False
    dates: Order = "iso"
    level_prefix: str = ""


@dataclass(frozen=True, slots=True)
class CellKind:
    """What a column of the level table holds: how a cell is read, and what may stand there."""

    read: Callable[[Value, CellReading], str | None]
    allowed: Callable[[CellReading], str]


def kind_of(column: str) -> CellKind:
    """The kind of a column of the level table; a column of another name holds counts."""
    return KINDS.get(column, COUNT)


def value_shown(value: Value) -> str:
    """What stands in a cell, in words."""
    if value is None or value == "":
        return EMPTY
    if isinstance(value, dt.datetime):
        return str(value)
    return shown(value)


def _level(value: Value, reading: CellReading) -> str | None:
    if isinstance(value, str):
        value = value.removeprefix(reading.level_prefix).strip()
    return _whole(value)


def _whole(value: Value) -> str | None:
    if isinstance(value, bool):
        return None
    if isinstance(value, int | float):
        return str(int(value)) if value == int(value) else None
    return str(int(value)) if isinstance(value, str) and _WHOLE.fullmatch(value) else None


def _count(value: Value, _: CellReading) -> str | None:
    whole = _whole(value)
    return None if whole is None or whole.startswith("-") else whole


def _number(value: Value, reading: CellReading) -> str | None:
    if isinstance(value, bool):
        return None
    if isinstance(value, int | float):
        return f"{value:.10g}"  # 1.1 is stored as 1.1000000000000001
    form = _COMMA if reading.decimal_comma else _POINT
    return value.replace(",", ".") if isinstance(value, str) and form.fullmatch(value) else None


def _text(value: Value, _: CellReading) -> str | None:
    if isinstance(value, bool | dt.date) or value in (None, ""):
        return None
    return f"{value:.10g}" if isinstance(value, float) else str(value)


def _date(value: Value, reading: CellReading) -> str | None:
    if isinstance(value, dt.datetime):
        return value.date().isoformat() if value.time() == dt.time() else None
    if isinstance(value, dt.date):
        return value.isoformat()
    parts = _DATE.fullmatch(value) if isinstance(value, str) else None
    if parts is None:
        return None
    order = {"iso": (1, 2, 3), "dmy": (3, 2, 1), "mdy": (3, 1, 2)}[reading.dates]
    year, month, day = (parts[place] for place in order)
    try:
        return dt.date(int(year), int(month), int(day)).isoformat() if len(year) == 4 else None
    except ValueError:
        return None


def _delivery(value: Value, reading: CellReading) -> str | None:
    return "" if value in (None, "") else _date(value, reading)


def _level_allowed(reading: CellReading) -> str:
    hint = f' after "{reading.level_prefix}"' if reading.level_prefix else ' (--level-prefix L reads "L12")'
    return f"a whole number{hint}"


def _number_allowed(reading: CellReading) -> str:
    if reading.decimal_comma:
        return "a number as 3,8, without points"
    return "a number as 3.8, without commas (--decimal-comma reads 3,8)"


KINDS = {
    "level": CellKind(_level, _level_allowed),
    "zone": CellKind(_text, lambda _: "text"),
    "height_m": CellKind(_number, _number_allowed),
    "difficulty": CellKind(_number, _number_allowed),
    "handover": CellKind(_date, lambda reading: _DATE_ALLOWED[reading.dates]),
    "delivery": CellKind(_delivery, lambda reading: f"nothing, or {_DATE_ALLOWED[reading.dates]}"),
}
COUNT = CellKind(_count, lambda _: "a whole number at least 0, as panels are counted")
