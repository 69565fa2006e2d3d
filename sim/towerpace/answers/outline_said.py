"""What a scenario is, as an answer: size, planned dates, what lacks a source, warnings."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from towerpace.answers.cautions import limits_cautions, sources_said
from towerpace.answers.outline import Outline
from towerpace.answers.prepare import Prepared
from towerpace.answers.run_of import run_of
from towerpace.answers.said.answer import Answer
from towerpace.answers.said.kinds import Kind, On
from towerpace.answers.said.people import day
from towerpace.answers.said.tables import Chapter, Column, Fact, Row, Table
from towerpace.scenario.doubts import Doubt, in_order

SIZE = Table(
    "size",
    "Size",
    (
        Column("what", Kind.NAME, " ", about="levels, zones, panels, steps of the plan, windows"),
        Column("count", Kind.COUNT, about="how many"),
    ),
    about="how large the scenario is",
)
RESOURCES = Table(
    "resources",
    "Resources",
    (
        Column("resource", Kind.NAME, " ", about="name of the resource"),
        Column("count", Kind.COUNT, about="units of it"),
    ),
    about="what the scenario has to work with",
)
PLANNED = Table(
    "planned",
    "With every duration as planned",
    (
        Column("case", Kind.NAME, " ", about="what is left out"),
        Column(
            "finish",
            Kind.DATE,
            about="day of the finish",
            blank="after the horizon",
            event="finish as planned, {case}",
        ),
        Column("working_day", Kind.WORKING_DAY, about="working days from the start to that day"),
    ),
    about="finish dates of one trial in which all goes as planned",
)
WITHOUT_SOURCE = Table(
    "without_source",
    "Assumptions without a source",
    (Column("key", Kind.NAME, " ", about="key of the scenario"),),
    about="assumptions that name no source",
)
WARNINGS = Table(
    "warnings",
    "Warnings",
    (
        Column("line", Kind.COUNT, about="of the scenario file"),
        Column("key", Kind.NAME, about="key of the scenario", on=On.PROGRAMS),
        Column("warning", Kind.TEXT, about="what is unusual, what is usual, and who says so"),
    ),
    about="what is unusual in the scenario, though it can be run",
)
OUTLINE_TABLES = (SIZE, RESOURCES, PLANNED, WITHOUT_SOURCE, WARNINGS)


def said(ready: Prepared, outline: Outline, *, doubts: Sequence[Doubt] = ()) -> Answer:
    """The outline as everybody gets it. doubts : what is unusual in it and in its set-ups."""
    missing = len(outline.without_source)
    return Answer(
        question="check",
        about="What the scenario is",
        run=run_of(ready.scenario, ready.tower, seed=0, trials=0),
        said=_first(ready, outline),
        facts=[
            Fact(
                Column("assumptions", Kind.COUNT, about="numbers that decide an answer"), outline.assumptions
            ),
            Fact(Column("without_source", Kind.COUNT, about="of these, without a source"), missing),
        ],
        tables=(
            SIZE.filled(_size(outline)),
            RESOURCES.filled(outline.resources.items()),
            PLANNED.filled(_planned(ready, outline)),
            WITHOUT_SOURCE.filled((key,) for key in outline.without_source),
            WARNINGS.filled(_warnings(outline, doubts)),
        ),
        chapters=(
            Chapter("What it is", (_first(ready, outline),), ("size", "resources")),
            Chapter("When it would finish", shows=("planned",)),
            Chapter("Where its numbers come from", (sources_said(ready.scenario),), ("without_source",)),
            Chapter("What is unusual", shows=("warnings",)),
        ),
        cautions=limits_cautions(ready.scenario.settings),
    )


def _warnings(outline: Outline, doubts: Sequence[Doubt]) -> Iterator[Row]:
    for doubt in in_order(doubts):
        text = replace(doubt, line=None).text()
        yield doubt.line, doubt.key, text
    for warning in outline.warnings:
        yield None, None, warning


def _first(ready: Prepared, outline: Outline) -> str:
    as_planned = outline.calm if outline.record is None else outline.record
    if as_planned is None:
        return "No faults; with every duration as planned it does not finish inside the horizon."
    weather = "" if outline.record is None else " and the weather as recorded"
    return (
        f"No faults; with every duration as planned{weather} it finishes on "
        f"{day(ready.days.date_of(as_planned))}."
    )


def _size(outline: Outline) -> Iterator[Row]:
    for word in ("levels", "zones", "panels", "steps", "windows"):
        yield word, int(getattr(outline, word))


def _planned(ready: Prepared, outline: Outline) -> Iterator[Row]:
    cases = [("no weather, no resource limits", outline.unhindered), ("no weather", outline.calm)]
    if ready.chooser.weather is not None:
        cases.append(("weather as recorded", outline.record))
    for case, minute in cases:
        if minute is None:
            yield case, None, None
        else:
            yield case, ready.days.date_of(minute), ready.days.working_day(minute)
