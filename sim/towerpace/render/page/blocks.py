"""Chapters of an answer as blocks of a page: by the kinds of columns, whatever the question."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from towerpace.answers.said.answer import Answer
from towerpace.answers.said.kinds import On
from towerpace.answers.said.people import shown, shown_columns
from towerpace.answers.said.tables import Chapter, Column, Table, Value
from towerpace.render.frames import Framed
from towerpace.render.page.figures import picture
from towerpace.render.page.model import Block, Cell, Facts, Grid, Para, Rows, unbroken

LONGEST, LONGEST_FOLDED = 400, 4000  # rows that a page shows of one table; longer ones are for spreadsheets


def blocks_of(chapter: Chapter, framed: Framed, *, where: On = On.PAGE) -> list[Block]:
    """What a chapter says and shows, in its order; nothing for tables without rows.

    where : it is shown, of which tables and columns tell whether they belong there.
    """
    answer = framed.answer
    blocks: list[Block] = [
        Para(unbroken(sentence), strong=k == 0) for k, sentence in enumerate(chapter.sentences)
    ]
    if facts := _facts(chapter, answer):
        blocks.append(Facts(facts))
    tables = {table.name: table for table in answer.tables_on(where)}
    for name in chapter.shows:
        if name in answer.figures:
            blocks.append(picture(framed, name))
        if name in tables and tables[name].rows:
            blocks.append(block_of(tables[name], where=where))
    return blocks


def _facts(chapter: Chapter, answer: Answer) -> list[tuple[str, str]]:
    named = {fact.column.name: fact for fact in answer.facts if On.PAGE & fact.column.on}
    chosen = [named[name] for name in chapter.shows if name in named]
    return [(fact.column.heading, shown(fact.value, fact.column)) for fact in chosen]


def block_of(table: Table, *, where: On = On.PAGE) -> Block:
    """A table on the page; a long one is only named, with its file."""
    if len(table.rows) > (LONGEST_FOLDED if table.folded else LONGEST):
        return Para(f"{table.title}: {len(table.rows):,} rows, too many for a page; see {table.name}.csv.")
    columns = [column for column in table.columns if where & column.on]
    places = [k for k, column in enumerate(table.columns) if column in columns]
    rows = [tuple(row[k] for k in places) for row in table.rows]
    seen = shown_columns(columns, rows)
    exact = {column.name: [row[k] for row in rows] for k, column in enumerate(columns)}
    cells = [
        [_cell(text, exact[column.name][k], column) for k, text in enumerate(texts)] for column, texts in seen
    ]
    lines = [list(line) for line in zip(*cells, strict=True)]
    kept = seen[1:] if table.groups else seen
    groups = list(_grouped(lines)) if table.groups else [Rows(lines)]
    # A heading that a terminal can do without is still read out.
    headings = [column.heading.strip() or column.name.replace("_", " ") for column, _ in kept]
    numeric = [not column.kind.is_words and not column.to for column, _ in kept]
    return Grid(table.title, headings, groups, numeric, table.note, table.folded, table.appendix)


def _grouped(lines: Sequence[Sequence[Cell]]) -> Iterator[Rows]:
    for heading in dict.fromkeys(line[0].text for line in lines):
        yield Rows([line[1:] for line in lines if line[0].text == heading], heading)


def _cell(text: str, value: Value, column: Column) -> Cell:
    if column.to or value is None or isinstance(value, str | bool):
        return Cell(unbroken(text))
    if isinstance(value, date):
        return Cell(unbroken(text), value.isoformat(), is_date=True)
    return Cell(unbroken(text), repr(value))
