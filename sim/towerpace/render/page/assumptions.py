"""Every assumption with its source and its owner; those that rest on nothing firm are flagged."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from typing import Any

from towerpace.render.page.answer import records
from towerpace.render.page.model import Block, Cell, Chapter, Para, Rows, grouped
from towerpace.render.page.results import Part
from towerpace.scenario.assumptions import DEFAULT_SOURCE, kind_of

NO_SOURCE, DEFAULT, UNPUBLISHED = "no source", "default", "unpublished"
_MEANS = {
    NO_SOURCE: "have no source at all",
    DEFAULT: "are defaults that nobody has changed",
    UNPUBLISHED: "rest on memory, on common practice or on invention",
}
_OWNER = "owner"


def assumptions(part: Part) -> Chapter:
    """All numbers that decide the answer, table by table of the scenario."""
    rows = records(part.tables["assumptions"])
    blocks: list[Block] = [Para(_counts(rows), strong=True)]
    blocks.append(
        Para(
            "Whoever owns a number answers for it. An empty owner is a question for the meeting: who does? "
            "Flagged numbers are the first to replace by records of the site."
        )
    )
    tables = list(dict.fromkeys(_table_of(one) for one in rows))
    groups = [Rows([_row(one) for one in rows if _table_of(one) == name], name) for name in tables]
    columns = ("Number", "value", "source", "owner")
    blocks.append(grouped("Assumptions, in the order of the scenario file", columns, groups))
    return Chapter("assumptions", "Assumptions", blocks)


def flag_of(source: str) -> str:
    """Why an assumption asks for care, or "".

    >>> [flag_of(x) for x in ("", "default of the program", "3 to 6 min, from memory", "EN 1991-1-4")]
    ['no source', 'default', 'unpublished', '']
    """
    if source == DEFAULT_SOURCE:
        return DEFAULT
    return {"blank": NO_SOURCE, "published": ""}.get(kind_of(source), UNPUBLISHED)


def _counts(rows: list[Mapping[Any, Any]]) -> str:
    flags = Counter(flag_of(one["source"]) for one in rows)
    said = [f"{flags[flag]} {meaning}" for flag, meaning in _MEANS.items() if flags[flag]]
    total = f"{len(rows)} numbers decide this answer"
    return f"{total}: {', '.join(said)}." if said else f"{total}, each with a source."


def _table_of(one: Mapping[Any, Any]) -> str:
    return str(one["key"]).partition(".")[0].partition("[")[0]


def _row(one: Mapping[Any, Any]) -> list[Cell]:
    """The key without its table, which stands above; an owner only where the results name one."""
    short = str(one["key"]).removeprefix(_table_of(one)).removeprefix(".")
    source = Cell(one["source"], flag=flag_of(one["source"]))
    return [Cell(short), Cell(one["text"]), source, Cell(one.get(_OWNER) or "")]
