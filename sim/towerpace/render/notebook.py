"""An answer in a notebook: what it says, and its first table."""

from __future__ import annotations

from html import escape

from towerpace.answers.said.answer import Answer
from towerpace.answers.said.kinds import On
from towerpace.answers.said.people import shown_columns
from towerpace.answers.said.tables import Table


def html_of(answer: Answer) -> str:
    """The sentences of an answer and the first table that people read."""
    table = next((table for table in answer.tables_on(On.PAGE) if table.rows), None)
    banners = "".join(f"<p><strong>{escape(banner)}</strong></p>" for banner in answer.banners)
    return f"{banners}<p>{escape(answer.said)}</p>" + ("" if table is None else f"\n{_table(table)}")


def _table(table: Table) -> str:
    columns = [column for column in table.columns if On.PAGE & column.on]
    places = [k for k, column in enumerate(table.columns) if column in columns]
    shown = shown_columns(columns, [tuple(row[k] for k in places) for row in table.rows])
    head = "".join(f"<th>{escape(column.heading)}</th>" for column, _ in shown)
    rows = "".join(
        f"<tr>{''.join(f'<td>{escape(text)}</td>' for text in row)}</tr>"
        for row in zip(*(texts for _, texts in shown), strict=True)
    )
    return f"<table><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table>"
