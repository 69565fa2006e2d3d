"""Calm windows as tables: two for programs, and for people two an operation and length."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import astuple, dataclass
from itertools import groupby
from typing import TypeVar

from towerpace.answers.calm import CalmDays, CalmHours
from towerpace.answers.said.kinds import Kind, On
from towerpace.answers.said.tables import Chapter, Column, Row, Table

T = TypeVar("T", CalmDays, CalmHours)

_WHERE = (
    Column("clear_h", Kind.HOURS, about="hours in a row that are asked for"),
    Column("operation", Kind.NAME, about="trades or trips that share calendar and limits"),
    Column("limits", Kind.NAME, about="weather limits that stop it"),
    Column("lowest", Kind.COUNT, about="lowest level of the band"),
    Column("highest", Kind.COUNT, about="highest level of the band"),
    Column("month", Kind.NAME, about="month of the first twelve"),
)
_DAYS = (
    Column("shift_days", Kind.DAYS, about="days on which the calendar leaves room for them"),
    Column("record_days", Kind.DAYS, about="of these, with the hours clear in the record as it came"),
    Column("generated_days", Kind.DAYS, about="in the mean of the generated years"),
)
CALM_DAYS = Table(
    "calm_days",
    "Days with a calm window",
    (
        *_WHERE,
        *_DAYS,
        Column("generated_p10_days", Kind.DAYS, about="their 10th percentile"),
        Column("generated_p90_days", Kind.DAYS, about="their 90th percentile"),
    ),
    about="days of a month on which so many clear hours in a row begin, mean over the levels of a band",
    on=On.PROGRAMS,
)
CALM_HOURS = Table(
    "calm_hours",
    "Calm windows by the hour they begin",
    (*_WHERE, Column("begins_h", Kind.COUNT, about="hour of the clock from which on they are clear"), *_DAYS),
    about="days of a month on which so many clear hours begin at one hour, mean over the levels of a band",
    on=On.PROGRAMS,
)
CALM_TABLES = (CALM_DAYS, CALM_HOURS)
_SAID = (
    "Days on which so many clear hours in a row begin within the shift: as in the record | mean of the "
    "generated years (their P10 to P90); by the hour they begin, of all twelve months. A break ends a window."
)


@dataclass(frozen=True)
class CalmWindows:
    """What there is of one length of window. [h]"""

    clear_h: float
    days: tuple[CalmDays, ...]
    hours: tuple[CalmHours, ...]


def for_programs(calm: Sequence[CalmWindows]) -> tuple[Table, ...]:
    """A row a month, and a row a month and hour; none where no window was asked for."""
    if not calm:
        return ()
    days = (_row(windows.clear_h, row) for windows in calm for row in windows.days)
    hours = (_row(windows.clear_h, row) for windows in calm for row in windows.hours)
    return CALM_DAYS.filled(days), CALM_HOURS.filled(hours)


def for_people(calm: Sequence[CalmWindows]) -> tuple[tuple[Table, ...], tuple[Chapter, ...]]:
    """By month and by hour, an operation and length after the other, and the chapter that holds them."""
    tables = tuple(table for windows in calm for table in _shown(windows))
    if not tables:
        return (), ()
    return tables, (Chapter("Calm windows", (_SAID,), tuple(table.name for table in tables)),)


def _row(clear_h: float, found: CalmDays | CalmHours) -> Row:
    operation, limits, *rest = astuple(found)
    return clear_h, operation, ", ".join(limits), *rest


def _shown(windows: CalmWindows) -> Iterator[Table]:
    operations = zip(_split(windows.days), _split(windows.hours), strict=True)
    for number, (days, hours) in enumerate(operations, start=1):
        named = f"{windows.clear_h:g}".replace(".", "_")
        title = (
            f"{days[0].operation}  ({', '.join(days[0].limits)}), days with {windows.clear_h:g} clear hours"
        )
        yield _by_month(f"calm_{named}_h_by_month_{number}", title, _bands(days))
        yield _by_hour(f"calm_{named}_h_by_hour_{number}", f"{title}, by the hour they begin", _bands(hours))


def _split(rows: Sequence[T]) -> list[list[T]]:
    return [list(own) for _, own in groupby(rows, key=lambda row: (row.operation, row.limits))]


def _bands(rows: Sequence[T]) -> list[list[T]]:
    """Bands that weather treats alike, as where no limit depends on height, are one."""
    bands = [list(own) for _, own in groupby(rows, key=lambda row: (row.lowest, row.highest))]
    days = [[(row.record_days, row.generated_days) for row in band] for band in bands]
    return [band for k, band in enumerate(bands) if k == 0 or days[k] != days[k - 1]]


def _columns(first: Column, heads: Sequence[str]) -> tuple[Column, ...]:
    heads = heads if len(heads) > 1 else ["all levels"]
    bands = (Column(f"band_{k}", Kind.NAME, head) for k, head in enumerate(heads, start=1))
    return first, Column("shift_days", Kind.DAYS, "shift", digits=0), *bands


def _by_month(name: str, title: str, bands: list[list[CalmDays]]) -> Table:
    rows: list[Row] = [
        (of_month[0].month, of_month[0].shift_days, *map(_cell, of_month))
        for of_month in zip(*bands, strict=True)
    ]
    sums = [_pair(sum(r.record_days for r in band), sum(r.generated_days for r in band)) for band in bands]
    rows.append(("all", sum(row.shift_days for row in bands[0]), *sums))
    heads = [f"L{band[0].lowest} to L{band[0].highest}" for band in bands]
    return Table(name, title, _columns(Column("month", Kind.NAME), heads), tuple(rows), on=On.PEOPLE)


def _by_hour(name: str, title: str, bands: list[list[CalmHours]]) -> Table:
    hours = sorted({row.begins_h for row in bands[0]})
    of_hour = [[[row for row in band if row.begins_h == hour] for band in bands] for hour in hours]
    rows = tuple(
        (
            f"{hour:02d}:00",
            sum(row.shift_days for row in of_bands[0]),
            *(_pair(sum(r.record_days for r in own), sum(r.generated_days for r in own)) for own in of_bands),
        )
        for hour, of_bands in zip(hours, of_hour, strict=True)
    )
    heads = [f"L{band[0].lowest}-{band[0].highest}" for band in bands]
    return Table(name, title, _columns(Column("from", Kind.NAME), heads), rows, on=On.PEOPLE)


def _pair(record: float, generated: float) -> str:
    return f"{record:3.0f} | {generated:.0f}"


def _cell(row: CalmDays) -> str:
    spread = f"({row.generated_p10_days:.0f}-{row.generated_p90_days:.0f})"
    return f"{row.record_days:3.0f} |{row.generated_days:4.0f} {spread}"
