"""Words in tables that people open in a spreadsheet: none is taken for a formula, and each comes back.

A cell that begins with = + - @ or a tab is worked out by a spreadsheet, whoever wrote it. Such words get an
apostrophe in front, by which a spreadsheet knows text; who reads the table takes it off again. Numbers stay
as they are: nothing but a number can come of them.

The characters are those of the OWASP page "CSV Injection" (from memory).
"""

from __future__ import annotations

import re

MARK = "'"
# What a spreadsheet works out; a sign alone is text to it.
_WORKED_OUT = re.compile(r"'*[=+\-@\t\r].", re.DOTALL)
_NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)(e[+-]?\d+)?", re.IGNORECASE)


def guarded(word: str) -> str:
    """A word as a cell of a table.

    >>> guarded("=A1"), guarded("-1.5"), guarded("north")
    ("'=A1", '-1.5', 'north')
    """
    return MARK + word if _is_guarded(word) else word


def unguarded(cell: str) -> str:
    """The word that was written into a cell.

    >>> unguarded("'=A1"), unguarded("'tis")
    ('=A1', "'tis")
    """
    return cell[1:] if cell.startswith(MARK) and _is_guarded(cell[1:]) else cell


def must_be_quoted(word: str) -> bool:
    """Whether a cell needs quotes that Python's writer does not give it before 3.13, lines ending in LF."""
    return "\r" in word


def _is_guarded(word: str) -> bool:
    return bool(_WORKED_OUT.match(word)) and not _NUMBER.fullmatch(word)
