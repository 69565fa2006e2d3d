"""What kind of field a key of the scenario is, read off the vocabulary, and values between page and file.

A kind says how the page lets a value be changed. Text is no kind: names of files, of gangs and of calendars
are never the page's to change.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, Any, Literal, get_args, get_origin

from annotated_types import Ge, Le
from pydantic import WithJsonSchema
from pydantic.fields import FieldInfo

from towerpace.scenario.calendars import Interval
from towerpace.scenario.fields import OpenHours
from towerpace.scenario.quantities import Value
from towerpace.scenario.schema.level_keys import DayOrShift
from towerpace.scenario.spreads import Spread
from towerpace.scenario.words import allowed_words, field_slot

COUNT, NUMBER, SPREAD, HOURS, FLAG = "count", "number", "spread", "hours", "flag"
DATE, DATES, SHIFT = "date", "dates", "date or days"
SPREAD_KEYS = ("low", "likely", "high", "shape", "p10", "p50", "p90", "value")
_DAY_OR_SHIFT = get_args(DayOrShift)[0]


@dataclass(frozen=True)
class Form:
    """How a key may be changed.

    low, high : ends that its vocabulary states, None without. allowed : the same in words.
    """

    kind: str
    low: float | None
    high: float | None
    allowed: str


def form_of(field: FieldInfo) -> Form | None:
    """The form of a field; None of a table, and of what the page does not change."""
    kind = _kind(field)
    if kind is None:
        return None
    low, high = _ends(field)
    return Form(kind, low, high, allowed_words(field_slot(field), path=()))


def _kind(field: FieldInfo) -> str | None:
    inner = field_slot(field).type
    plain = {Value: NUMBER, Spread: SPREAD, bool: FLAG, dt.date: DATE, int: COUNT, _DAY_OR_SHIFT: SHIFT}
    if inner in plain:
        return plain[inner]
    if get_origin(inner) is tuple:
        of = get_args(inner)[0]
        hours = get_args(get_args(OpenHours)[0])[0]
        if of in (Interval, hours):
            return HOURS
        return DATES if get_origin(of) is Annotated and get_args(of)[0] is dt.date else None
    return None


def _ends(field: FieldInfo) -> tuple[float | None, float | None]:
    low = high = None
    for mark in _marks(field):
        if isinstance(mark, Ge):
            low = float(mark.ge)  # type: ignore[arg-type]  # of a count, always a number
        elif isinstance(mark, Le):
            high = float(mark.le)  # type: ignore[arg-type]  # of a count, always a number
        elif isinstance(mark, WithJsonSchema) and mark.json_schema and "anyOf" in mark.json_schema:
            plain = mark.json_schema["anyOf"][0]
            low = plain.get("minimum", plain.get("exclusiveMinimum"))
            high = plain.get("maximum", plain.get("exclusiveMaximum"))
    return low, high


def _marks(field: FieldInfo) -> Iterator[object]:
    """What the annotation of a field is marked with, within `| None` as well."""
    yield from field.metadata
    yield from _of_annotation(field.annotation)


def _of_annotation(annotation: Any) -> Iterator[object]:
    if get_origin(annotation) is Annotated:
        inner, *marks = get_args(annotation)
        for mark in marks:
            yield from mark.metadata if isinstance(mark, FieldInfo) else (mark,)
        yield from _of_annotation(inner)
    elif get_origin(annotation) not in (tuple, dict, Literal):
        for option in get_args(annotation):
            yield from _of_annotation(option)
