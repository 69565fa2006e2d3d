"""An answer as a person reads it in a terminal: eighty columns, no date torn apart."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Sequence

from rich.console import Console
from rich.table import Table as Grid
from rich.text import Text

from towerpace.answers.said.answer import Answer
from towerpace.answers.said.kinds import Kind, On
from towerpace.answers.said.people import day, shown_columns
from towerpace.answers.said.tables import Chapter, Column, Row, Table
from towerpace.cli.terminal import WIDTH, console

_GAP = 2  # between columns
_NARROWEST = 20  # of a column of sentences
_UNTORN = "\ue000"  # for the spaces of a date or name while lines are broken, which is at white space
# In sentences: what is set, and days.
_TOGETHER = re.compile(r"\S+ = \S+|([A-Z][a-z]{2} )?\d{2} [A-Z][a-z]{2} \d{4}")


def show(answer: Answer) -> None:
    """Print an answer."""
    out = console()
    run = answer.run
    out.print(Text(f"{run.scenario}", style="bold"), Text(f" start {day(run.start)}"))
    of = "" if run.trials == run.asked else f" of {run.asked:,}"
    many = "trial" if run.trials == 1 else "trials"
    trials = f"{run.trials:,}{of} {many}, seed {run.seed}, " if run.trials else ""
    _say(out, f"{trials}scenario {run.hash[:12]}, towerpace {run.version}")
    out.print()
    for banner in answer.banners:
        _say(out, f"!! {banner}", style="bold")
    if answer.banners:
        out.print()
    for chapter in answer.chapters:
        if On.TERMINAL & chapter.on:
            _chapter(out, chapter, answer)
    for caution in answer.cautions:
        _say(out, f"! {caution}", style="dim")


def _chapter(out: Console, chapter: Chapter, answer: Answer) -> None:
    for sentence in chapter.sentences:
        _say(out, sentence)
    if chapter.sentences:
        out.print()
    there = {table.name: table for table in answer.tables_on(On.TERMINAL) if table.rows}
    for name in chapter.shows:
        if name in there:
            print_table(out, there[name])
            out.print()


def _say(out: Console, sentence: str, *, style: str = "") -> None:
    lines = textwrap.fill(_untorn(sentence), WIDTH, break_on_hyphens=False).replace(_UNTORN, " ")
    out.print(Text(lines, style=style), soft_wrap=True)


def print_table(out: Console, table: Table) -> None:
    """Print a table under its title: thinned where it is long, names and dates never torn apart."""
    columns = [column for column in table.columns if On.TERMINAL & column.on]
    rows = _seen(table, columns)
    cells = shown_columns(columns, rows)
    if table.groups and cells:
        cells[0] = (cells[0][0], _once(cells[0][1]))
    grid = _grid(cells, room=max(WIDTH, out.width if out.is_terminal else WIDTH))
    width = max(out.width, Console().measure(grid).maximum, WIDTH)
    with out.capture() as printed:
        out.print(grid, width=width, soft_wrap=False, crop=False)
    if table.title:
        out.print(Text(table.title, style="bold"))
    lines = [line.rstrip() for line in printed.get().replace(_UNTORN, " ").splitlines()]
    out.out("\n".join(lines), highlight=False)
    if len(rows) < len(table.rows):
        _say(out, f"{len(rows)} of {len(table.rows)} rows; all are in the files and in --json", style="dim")
    if table.note:
        _say(out, table.note, style="dim")


def _seen(table: Table, columns: Sequence[Column]) -> list[Row]:
    places = [k for k, column in enumerate(table.columns) if column in columns]
    count = len(table.rows)
    if table.first_rows and table.most is not None:
        return [tuple(row[place] for place in places) for row in table.rows[: table.most]]
    step = 1 if table.most is None else -(-count // table.most)
    shown = sorted({*range(0, count, max(1, step)), count - 1})
    return [tuple(table.rows[k][place] for place in places) for k in shown]


def _once(texts: Sequence[str]) -> list[str]:
    return [text if k == 0 or text != texts[k - 1] else "" for k, text in enumerate(texts)]


def _grid(cells: Sequence[tuple[Column, list[str]]], *, room: int) -> Grid:
    grid = Grid(box=None, pad_edge=False, padding=(0, _GAP, 0, 0))
    limits = _limits(cells, room)
    for (column, texts), most in zip(cells, limits, strict=True):
        widest = max(map(len, texts), default=0)
        grid.add_column(
            Text(column.heading),
            overflow="fold",  # a word wider than its column is told whole
            justify="left" if column.kind.is_words else "right",
            header_style="dim",
            min_width=min(widest, most) if most else widest,
            max_width=most or max(widest, _heading_width(column.heading)),
        )
    for row in zip(*(texts for _, texts in cells), strict=True):
        grid.add_row(*(Text(_whole(text, c)) for text, (c, _) in zip(row, cells, strict=True)))
    return grid


def _whole(text: str, column: Column) -> str:
    return _untorn(text) if column.kind is Kind.TEXT else text.replace(" ", _UNTORN)


def _untorn(text: str) -> str:
    """A sentence that lines do not break within what is short and belongs together."""
    return _TOGETHER.sub(lambda found: _joined(found.group()), text)


def _joined(words: str) -> str:
    return words.replace(" ", _UNTORN) if len(words) <= _NARROWEST else words


def _heading_width(heading: str) -> int:
    """The narrowest in which a heading stands on two lines at most."""
    words = heading.split()
    cuts = [max(len(" ".join(words[:k])), len(" ".join(words[k:]))) for k in range(1, len(words) + 1)]
    return min(cuts, default=0)


def _limits(cells: Sequence[tuple[Column, list[str]]], room: int) -> list[int]:
    """Widths that columns of sentences may take so that the table fits; 0 where a column is as it is."""
    widths = [max([_heading_width(c.heading), *map(len, texts)]) for c, texts in cells]
    wordy = [k for k, (column, _) in enumerate(cells) if column.kind is Kind.TEXT]
    left = room - _GAP * (len(cells) - 1) - sum(w for k, w in enumerate(widths) if k not in wordy)
    limits = [0] * len(cells)
    for nth, k in enumerate(sorted(wordy, key=lambda k: widths[k])):
        limits[k] = max(_NARROWEST, min(widths[k], left // (len(wordy) - nth)))
        left -= limits[k]
    return limits
