"""The page of a report as plain data: chapters of paragraphs, tables, figures, lists and facts.

Texts are plain, without any markup, so that page and print are two renderings of the same thing.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field

WORDY = 40  # letters
NARROW = 66  # letters of a row that half a sheet of paper can hold


@dataclass(frozen=True)
class Cell:
    """What a reader sees in a cell, and the exact value behind it for programs.

    value : ISO date or number as it is saved; "" for words, blanks and intervals. is_date : which of the two.
    """

    text: str
    value: str = ""
    is_date: bool = False


@dataclass(frozen=True)
class Rows:
    """Rows of a table under a heading of their own, or under none."""

    rows: Sequence[Sequence[Cell]]
    heading: str = ""


@dataclass(frozen=True)
class Grid:
    """A table: the first cell of every row names the row.

    numeric : columns set to the right. folded : shown on demand, for its length. appendix : printed whole at
    the end. note : below it.
    """

    caption: str
    columns: Sequence[str]
    groups: Sequence[Rows]
    numeric: Sequence[bool]
    note: str = ""
    folded: bool = False
    appendix: bool = False
    what: str = "table"

    @property
    def wordy(self) -> bool:
        """Whether the cells hold sentences rather than numbers and names."""
        return any(len(cell.text) > WORDY for group in self.groups for row in group.rows for cell in row)

    @property
    def letters(self) -> int:
        """Letters of a row as wide as its widest cells."""
        rows = [row for group in self.groups for row in group.rows]
        return sum(max(len(cell.text) for cell in cells) for cells in zip(*rows, strict=True))


@dataclass(frozen=True)
class Picture:
    """A figure, drawn for wide and, where it has a form for them, for narrow screens.

    about : what it shows, in words. aspect : height over width.
    """

    name: str
    svg: str
    title: str
    about: str
    aspect: float
    narrow: str = ""
    what: str = "picture"


@dataclass(frozen=True)
class Para:
    """A paragraph; strong ones carry the answer of their chapter."""

    text: str
    strong: bool = False
    what: str = "para"


@dataclass(frozen=True)
class Items:
    """A list."""

    items: Sequence[str]
    what: str = "items"


@dataclass(frozen=True)
class Facts:
    """Names and what they stand for."""

    facts: Sequence[tuple[str, str]]
    what: str = "facts"


Block = Grid | Picture | Para | Items | Facts


@dataclass(frozen=True)
class PageChapter:
    """A chapter; chapters without blocks are left out."""

    key: str
    title: str
    blocks: Sequence[Block] = field(default_factory=tuple)

    @property
    def wide(self) -> bool:
        """Whether half a sheet of paper is too narrow for it."""
        grids = [block for block in self.blocks if isinstance(block, Grid)]
        return not grids or any(grid.letters > NARROW for grid in grids)


@dataclass(frozen=True)
class Page:
    """The whole report.

    banners : what stands above everything. headline : the answer in one sentence or two. run : what it was
    made from. first : the first page.
    language : of the texts.
    """

    title: str
    kicker: str
    banners: Sequence[str]
    headline: str
    run: str
    first: Sequence[Block]
    chapters: Sequence[PageChapter]
    created: str
    language: str = "en"


def unbroken(text: str) -> str:
    """A text whose dates and shares no line tears apart.

    >>> unbroken("by Thu 25 Mar 2027 in 80 %") == "by Thu\u00a025\u00a0Mar\u00a02027 in 80\u00a0%"
    True
    """
    dates = re.sub(
        r"\b(?:([A-Z][a-z]{2}) )?(\d{1,2}) ([A-Z][a-z]{2})(?: (\d{4}))?\b",
        lambda m: "\u00a0".join(filter(None, m.groups())),
        text,
    )
    return dates.replace(" %", "\u00a0%")
