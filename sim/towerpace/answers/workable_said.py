"""Workable hours and calm windows as an answer: for programs tables, for people one an operation."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from towerpace.answers.calm_said import CALM_TABLES, CalmWindows, for_people, for_programs
from towerpace.answers.cautions import limits_cautions
from towerpace.answers.prepare import Prepared
from towerpace.answers.run_of import run_of
from towerpace.answers.said.answer import Answer
from towerpace.answers.said.kinds import Kind, On
from towerpace.answers.said.tables import Chapter, Column, Row, Table
from towerpace.answers.workable import Workable

WORKABLE = Table(
    "workable",
    "Workable hours",
    (
        Column("operation", Kind.NAME, about="trades or trips that share calendar and limits"),
        Column("limits", Kind.NAME, about="weather limits that stop it"),
        Column("lowest", Kind.COUNT, about="lowest level of the band"),
        Column("highest", Kind.COUNT, about="highest level of the band"),
        Column("month", Kind.NAME, about="month of the first twelve"),
        Column("shift_h", Kind.HOURS, about="hours of the calendar"),
        Column("record_h", Kind.HOURS, about="of these, workable in the record as it came"),
        Column("generated_h", Kind.HOURS, about="workable in the mean of the generated years"),
        Column("generated_p10_h", Kind.HOURS, about="their 10th percentile"),
        Column("generated_p90_h", Kind.HOURS, about="their 90th percentile"),
    ),
    about="hours of a month in which an operation can work, mean over the levels of a band",
    on=On.PROGRAMS,
)
WORKABLE_TABLES = (WORKABLE, *CALM_TABLES)


def said(
    ready: Prepared, hours: Sequence[Workable], calm: Sequence[CalmWindows] = (), *, years: int, seed: int
) -> Answer:
    """The workable hours, and the calm windows asked for, as everybody gets them.

    years : generated. Raises `ValueError` for a scenario without weather.
    """
    operations = [list(rows) for _, rows in groupby(hours, key=lambda row: (row.operation, row.limits))]
    shown = [_for_people(rows, number) for number, rows in enumerate(operations, start=1)]
    head = _first(ready, years)
    calm_shown, calm_chapters = for_people(calm)
    return Answer(
        question="weather",
        about="How many hours can be worked",
        run=run_of(ready.scenario, ready.tower, seed=seed, trials=years),
        said=head,
        tables=(WORKABLE.filled(map(_row, hours)), *for_programs(calm), *shown, *calm_shown),
        chapters=(Chapter("Workable hours", (head,), tuple(table.name for table in shown)), *calm_chapters),
        cautions=limits_cautions(ready.scenario.settings),
    )


def _first(ready: Prepared, years: int) -> str:
    weather = ready.chooser.weather
    if weather is None:
        raise ValueError("the scenario has no weather")
    first, last = weather.record.years[0], weather.record.years[-1]
    record = f"{first}" if first == last else f"{first} to {last}"
    return (
        "Workable hours of each of the first twelve months, in the mean of the levels: as in the record of "
        f"{record} | mean of {years} generated {'year' if years == 1 else 'years'} (their P10 to P90)."
    )


def _row(hours: Workable) -> Row:
    limits = ", ".join(hours.limits)
    numbers = (hours.shift_h, hours.record_h, hours.generated_h, hours.generated_p10_h, hours.generated_p90_h)
    return hours.operation, limits, hours.lowest, hours.highest, hours.month, *numbers


def _for_people(rows: list[Workable], number: int) -> Table:
    """One operation; bands that weather treats alike, as where no limit depends on height, are one column."""
    bands = [list(band) for _, band in groupby(rows, key=lambda row: (row.lowest, row.highest))]
    kept = [band for k, band in enumerate(bands) if k == 0 or _hours(band) != _hours(bands[k - 1])]
    heads = [f"L{band[0].lowest} to L{band[0].highest}" for band in kept] if len(kept) > 1 else ["all levels"]
    columns = (
        Column("month", Kind.NAME),
        Column("shift_h", Kind.HOURS, "shift", digits=0),
        *(Column(f"band_{k}", Kind.NAME, head) for k, head in enumerate(heads, start=1)),
    )
    title = f"{rows[0].operation}  ({', '.join(rows[0].limits)}), hours"
    return Table(f"operation_{number}", title, columns, tuple(_months(kept)), on=On.PEOPLE)


def _months(bands: list[list[Workable]]) -> Iterator[Row]:
    for of_month in zip(*bands, strict=True):
        yield of_month[0].month, of_month[0].shift_h, *map(_cell, of_month)
    sums = [f"{sum(row.record_h for row in b):3.0f} | {sum(row.generated_h for row in b):.0f}" for b in bands]
    yield "all", sum(row.shift_h for row in bands[0]), *sums


def _hours(band: list[Workable]) -> list[float]:
    return [row.record_h for row in band]


def _cell(row: Workable) -> str:
    spread = f"({row.generated_p10_h:.0f}-{row.generated_p90_h:.0f})"
    return f"{row.record_h:3.0f} |{row.generated_h:4.0f} {spread}"
