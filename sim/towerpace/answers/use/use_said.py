"""How busy the resources are, as an answer."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from towerpace.answers import methods
from towerpace.answers.cautions import LIMITS_CAUTION
from towerpace.answers.estimates import LATER
from towerpace.answers.run_of import run_of
from towerpace.answers.said.answer import Answer, Method
from towerpace.answers.said.people import share, words
from towerpace.answers.said.tables import Chapter, Table
from towerpace.answers.use.use import UseDetail
from towerpace.answers.use.use_tables import use_tables

USE_FIGURES = ("use", "stock")
_DRAWN_FROM = {"use": "by_week", "stock": "stock"}
_CHAPTERS = (
    Chapter("How busy every resource is", shows=("use", "resources", "by_week")),
    Chapter("What is scarce, and when", shows=("scarce",)),
    Chapter("Where the panels stand", shows=("stock",)),
)
_HELD = Method(
    "A unit is held from the start of the work that takes it to the end of the work that gives it back, "
    "counted in the shifts of all work that needs it. A wait belongs to the resource that the work is short "
    "of first."
)


def said(use: UseDetail) -> Answer:
    """How busy the resources are, as everybody gets it."""
    tables = {table.name: table for table in use_tables(use)}
    first = " ".join(_first(tables))
    return Answer(
        question="use",
        about="How busy every resource is",
        run=run_of(use.ready.scenario, use.ready.tower, seed=use.seed, trials=use.trials, asked=use.asked),
        said=first,
        tables=tuple(tables.values()),
        chapters=[replace(_CHAPTERS[0], sentences=[first]), *_CHAPTERS[1:]],
        cautions=list(_cautions(use)),
        figures=[name for name in USE_FIGURES if tables[_DRAWN_FROM[name]].rows],
        methods=[*methods.of_trials(use.ready.scenario), _HELD],
    )


def _first(tables: dict[str, Table]) -> Iterator[str]:
    rows = tables["resources"].rows
    if not rows:
        yield "The scenario has no resources."
        return
    name, hours = max(((row[0], _number(row[7])) for row in rows), key=lambda pair: pair[1])
    weeks = [row[1] for row in tables["scarce"].rows]
    if hours < 1:
        yield "Nothing waits an hour for any resource."
    else:
        scarcest = f"; it is the scarcest in {weeks.count(name)} of {len(weeks)} weeks"
        yield f"Most waited for is {words(str(name))}, {hours:,.0f} hours a trial{scarcest}."
    idle = [(str(row[0]), _number(row[4])) for row in rows if _number(row[4]) > 0]
    if idle:
        idlest, part = max(idle, key=lambda pair: pair[1])
        yield f"Idlest is {words(idlest)}: nobody holds it in {share(part)} of its hours."


def _number(value: object) -> float:
    return float(value) if isinstance(value, int | float) else 0.0


def _cautions(use: UseDetail) -> Iterator[str]:
    if use.trials < use.asked:
        yield f"The run was interrupted: {use.trials} of {use.asked} trials were finished."
    late = int(np.count_nonzero(use.outcomes.values["finish"] == LATER))
    if late:
        yield f"{late} of {use.trials} trials do not finish inside the horizon; their weeks count up to it."
    yield LIMITS_CAUTION
