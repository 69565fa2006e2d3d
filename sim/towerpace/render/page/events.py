"""The days of saved answers that a calendar shows: those whose columns say what a calendar calls them."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from towerpace.answers.said.kinds import On
from towerpace.answers.said.people import shown, shown_columns
from towerpace.answers.said.tables import Column, Row, Table
from towerpace.render.page.page import run_text
from towerpace.render.saved.answer_file import Saved


@dataclass(frozen=True)
class Event:
    """A day with a name.

    name : what happens. day : when; None where that lies beyond what was played. said : what else is known of
    it, a line each. of : the answer that it stands in.
    """

    name: str
    day: date | None
    said: tuple[str, ...]
    of: Saved

    @property
    def made(self) -> datetime:
        """When its answer was made, in universal time."""
        return datetime.fromisoformat(self.of.manifest.created_utc)


def events_of(parts: Sequence[Saved]) -> list[Event]:
    """All days of the answers, in order; what falls on the same day under the same name is one event."""
    joined: dict[tuple[str, date | None], Event] = {}
    for event in (event for part in parts for event in _events(part)):
        first = joined.setdefault((event.name, event.day), event)
        said = tuple(dict.fromkeys((*first.said, *event.said)))
        joined[event.name, event.day] = Event(event.name, event.day, said, first.of)
    return sorted(joined.values(), key=lambda event: (event.day or date.max, event.name))


def _events(part: Saved) -> Iterator[Event]:
    for fact in part.answer.facts:
        if fact.column.event and fact.value is not None:
            yield _event(fact.column, row=(fact.value,), columns=[fact.column], part=part)
    for table in part.answer.tables_on(On.FILE):
        yield from _of_table(table, part)


def _of_table(table: Table, part: Saved) -> Iterator[Event]:
    for column in (column for column in table.columns if column.event):
        place = table.columns.index(column)
        for row in table.rows:
            # A blank for which the column has a word is a day beyond what was played; any other is none.
            if row[place] is not None or column.blank:
                yield _event(column, row=row, columns=table.columns, part=part)


def _event(column: Column, *, row: Row, columns: Sequence[Column], part: Saved) -> Event:
    day = row[columns.index(column)]
    names = {c.name: shown(value, c) for c, value in zip(columns, row, strict=True)}
    run = run_text(part.answer.run).replace("\u00a0", " ")
    said = (*part.answer.banners, _said(row, columns), f"{part.answer.about}: {run}")
    known = day if isinstance(day, date) else None
    return Event(_named(column.event, names), known, tuple(filter(None, said)), part)


def _named(pattern: str, names: Mapping[str, str]) -> str:
    """The pattern with the texts of the row; braces within these stay what they are."""
    return re.sub(r"\{(\w+)\}", lambda match: names[match[1]], pattern)


def _said(row: Row, columns: Sequence[Column]) -> str:
    """What the row says to people, on one line."""
    seen = [k for k, column in enumerate(columns) if On.PAGE & column.on]
    cells = shown_columns([columns[k] for k in seen], [[row[k] for k in seen]])
    return ", ".join(f"{column.heading} {text}".strip() for column, [text] in cells if text)
