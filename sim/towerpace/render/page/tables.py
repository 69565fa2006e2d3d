"""Saved tables as tables of a page, whatever run wrote them, and JSON objects where no table was saved."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from towerpace.render.page.model import (
    CHANCE,
    DATE,
    NUMBER,
    TEXT,
    Block,
    Cell,
    Facts,
    Para,
    cell,
    grid,
    heading,
    number,
    words,
)
from towerpace.render.page.results import Part
from towerpace.render.tables.columns import STAMP

if TYPE_CHECKING:
    from pandas import DataFrame

LONGEST = 400  # rows that a page shows of one table; longer ones are for spreadsheets
_OPEN = 20  # rows that a table of a JSON object may have without being folded
_CHANCES = ("chance", "share", "beats_base", "low_chance", "high_chance", "confidence")
_RUN = ("scenario", "hash", "seed", "version", "trials", "trials_asked", "start")


def kind_of(column: str, dtype: object) -> str:
    """How a column is shown, from its name and its kind in memory."""
    if str(dtype).startswith("datetime"):
        return DATE
    if str(dtype) in ("Int64", "float64"):
        return CHANCE if column in _CHANCES else NUMBER
    return TEXT


def unstamped(table: DataFrame) -> DataFrame:
    """A table without the stamp that each of its rows carries: a report says it once."""
    return table[[name for name in table.columns if name not in STAMP]]


def by_trade(table: DataFrame) -> Iterator[tuple[str, DataFrame]]:
    """Rows trade by trade, in the order of the table."""
    for trade in dict.fromkeys(table["trade"].tolist()):
        yield str(trade), table[table["trade"] == trade]


def block_of(table: DataFrame, caption: str, *, file: str, folded: bool = True) -> Block:
    """A saved table on the page; a long one is only named, with its file."""
    shown = unstamped(table)
    if len(shown) > LONGEST:
        said = f"{caption}: {len(shown):,} rows, too many for a page; see {file} or the spreadsheet."
        return Para(said)
    kinds = [kind_of(str(name), dtype) for name, dtype in shown.dtypes.items()]
    rows = [
        [_cell(value, kind) for value, kind in zip(row, kinds, strict=True)]
        for row in zip(*(shown[name].tolist() for name in shown.columns), strict=True)
    ]
    return grid(caption, [heading(str(name)) for name in shown.columns], rows, folded=folded)


def _cell(value: object, kind: str) -> Cell:
    if isinstance(value, bool):
        return Cell("yes" if value else "no")
    return cell(value, kind)


def blocks_of(part: Part) -> list[Block]:
    """Every table of a folder; where it has none, those of its JSON objects."""
    made = [
        block_of(table, capital(words(name)), file=f"{name}.csv")
        for name, table in part.tables.items()
        if len(table)
    ]
    if made:
        return made
    return [block for data in part.objects.values() for block in blocks_of_object(data)]


def blocks_of_object(data: Mapping[str, Any]) -> list[Block]:
    """A JSON object: lists of objects as tables, everything else as names and values."""
    facts: list[tuple[str, str]] = []
    tables: list[Block] = []
    for key, value in data.items():
        if key in _RUN or value in (None, [], "", {}):
            continue
        if isinstance(value, list) and all(isinstance(one, dict) for one in value):
            tables.append(_of_list(key, value))
        elif isinstance(value, dict):
            facts += [(f"{words(key)}, {words(k)}", _said(v)) for k, v in value.items() if v is not None]
        else:
            facts.append((words(key), _said(value)))
    return [*([Facts(facts)] if facts else []), *tables]


def lists_in(data: Mapping[str, Any], *, name: str) -> Iterator[tuple[str, list[Mapping[str, Any]]]]:
    """Every list of objects inside a JSON object, named by the way to it."""
    for key, value in data.items():
        way = f"{name} {words(key)}"
        if isinstance(value, dict):
            yield from lists_in(value, name=way)
        elif isinstance(value, list) and value and all(isinstance(one, dict) for one in value):
            yield way, value


def _of_list(key: str, rows: Sequence[Mapping[str, Any]]) -> Block:
    columns = list(dict.fromkeys(name for row in rows for name in row))
    made = [[_of_json(name, row.get(name)) for name in columns] for row in rows[:LONGEST]]
    note = "" if len(rows) <= LONGEST else f"The first {LONGEST} of {len(rows)} rows."
    headings = [heading(name) for name in columns]
    return grid(capital(words(key)), headings, made, note=note, folded=len(made) > _OPEN)


def _of_json(column: str, value: object) -> Cell:
    if value is None:
        return Cell("")
    if isinstance(value, int | float) and not isinstance(value, bool):
        return cell(value, CHANCE if column in _CHANCES else NUMBER)
    return Cell(_said(value))


def _said(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return number(value)
    if isinstance(value, list):
        return ", ".join(_said(one) for one in value)
    if isinstance(value, dict):
        return ", ".join(f"{words(str(k))} {_said(v)}" for k, v in value.items() if v is not None)
    return str(value)


def capital(text: str) -> str:
    """A text with a capital first letter."""
    return text[:1].upper() + text[1:]
