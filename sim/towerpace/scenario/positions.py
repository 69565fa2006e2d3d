"""Where every key of a TOML text stands: path > line.

`tomllib` parses and judges the text but gives no positions. This index reads a text that tomllib has
accepted, follows keys, tables and arrays, and skips over values; it never judges.
"""

import re
import tomllib
from bisect import bisect_right

from towerpace.scenario.complaints import Path

_BARE = re.compile(r"[A-Za-z0-9_-]+")
_BASIC = re.compile(r'"(?:\\.|[^"\\])*"')
_LITERAL = re.compile(r"'[^']*'")
# The closing delimiter may follow one or two quotes that belong to the string.
_LONG_BASIC = re.compile(r'"""(?:\\.|[^\\])*?""""{0,2}', re.DOTALL)
_LONG_LITERAL = re.compile(r"'''.*?''''{0,2}", re.DOTALL)
_BLANK = re.compile(r"[ \t]*")
_BETWEEN = re.compile(r"(?:[ \t\n]|#[^\n]*)*")
_PLAIN_VALUE = re.compile(r"[^,\]}\n#]+")
_TOO_MANY_DIGITS = re.compile(r"[0-9_]{4300,}")
_BACKSLASHED = re.compile(r'"[^"]*\\[^"]*"')
_AT_LINE = re.compile(r"\(at line (\d+), column \d+\)")


def line_index(text: str) -> dict[Path, int]:
    r"""Line of every table, key and array element of a valid TOML text.

    Parameters
    ----------
    text : str
        A text that `tomllib.loads` accepts.

    Returns
    -------
    dict
        Path to line, counted from 1. A table stands at its header, or where it is first spoken of.

    Examples
    --------
    >>> line_index("[a]\nb.c = [1,\n2]")
    {('a',): 1, ('a', 'b'): 2, ('a', 'b', 'c'): 2, ('a', 'b', 'c', 0): 2, ('a', 'b', 'c', 1): 3}
    """
    return _Reader(text.replace("\r\n", "\n")).read()


def value_spans(text: str) -> dict[Path, tuple[int, int]]:
    r"""First character of every value of a valid TOML text, and the one behind its last.

    text : one that `tomllib.loads` accepts, its lines ended by a line feed alone. Tables with a header have
        no span.

    Examples
    --------
    >>> text = "[a]\nb = 12 # twelve"
    >>> [text[slice(*span)] for span in value_spans(text).values()]
    ['12']
    """
    reader = _Reader(text)
    reader.read()
    return reader.spans


def syntax_fault_place(error: ValueError, text: str) -> tuple[int, str]:
    """Line and words of an error with which tomllib refuses a text."""
    message = str(error)
    at_line = _AT_LINE.search(message)
    if at_line or isinstance(error, tomllib.TOMLDecodeError):
        line = int(at_line.group(1)) if at_line else text.rstrip("\n").count("\n") + 1
        words = message.split(" (at ", maxsplit=1)[0]
        return line, f"{words}{_backslash_remark(text, line=line)}"
    # The one other error of tomllib: Python itself refuses to convert so many digits.
    digits = _TOO_MANY_DIGITS.search(text)
    line = text.count("\n", 0, digits.start()) + 1 if digits else 1
    return line, "a whole number of thousands of digits"


def _backslash_remark(text: str, *, line: int) -> str:
    r"""What to do about a path as "C:\tower\levels.csv", in which a backslash begins a special sign."""
    if not _BACKSLASHED.search(text.split("\n")[line - 1]):
        return ""
    return " (write paths with / or between single quotes: in double quotes \\ begins a special sign)"


class _Reader:
    """One pass over the text; `at` is the offset of the next character."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.line_starts = [0] + [newline.end() for newline in re.finditer("\n", text)]
        self.lines: dict[Path, int] = {}
        self.spans: dict[Path, tuple[int, int]] = {}
        self.array_lengths: dict[Path, int] = {}
        self.table: Path = ()

    def read(self) -> dict[Path, int]:
        self.skip(_BETWEEN)
        while self.at < len(self.text):
            if self.text[self.at] == "[":
                self.header()
            else:
                self.pair(self.table)
            self.skip(_BETWEEN)
        return self.lines

    def skip(self, pattern: re.Pattern[str]) -> str:
        match = pattern.match(self.text, self.at)
        if match is None:
            raise ValueError(f"not valid TOML at offset {self.at}")
        self.at = match.end()
        return match.group()

    def line(self) -> int:
        return bisect_right(self.line_starts, self.at)

    def header(self) -> None:
        line = self.line()
        is_array = self.text.startswith("[[", self.at)
        self.at += 2 if is_array else 1
        path: Path = ()
        *outer, last = self.key()
        for part in outer:
            path = self.newest((*path, part), line=line)
        path += (last,)
        if is_array:
            self.lines.setdefault(path, line)
            self.array_lengths[path] = self.array_lengths.get(path, 0) + 1
            path += (self.array_lengths[path] - 1,)
        self.lines[path] = line
        self.table = path
        self.at += 2 if is_array else 1

    def newest(self, path: Path, *, line: int) -> Path:
        """The table itself, or the last element when it is an array of tables."""
        self.lines.setdefault(path, line)
        length = self.array_lengths.get(path)
        return path if length is None else (*path, length - 1)

    def key(self) -> list[str]:
        parts = []
        while True:
            self.skip(_BLANK)
            parts.append(self.key_part())
            self.skip(_BLANK)
            if self.text[self.at] != ".":
                return parts
            self.at += 1

    def key_part(self) -> str:
        quote = self.text[self.at]
        if quote not in "\"'":
            return self.skip(_BARE)
        raw = self.skip(_BASIC if quote == '"' else _LITERAL)
        value: str = tomllib.loads(f"key = {raw}")["key"]
        return value

    def pair(self, table: Path) -> None:
        line = self.line()
        path = table
        for part in self.key():
            path += (part,)
            self.lines.setdefault(path, line)
        self.at += 1
        self.skip(_BLANK)
        self.value(path)

    def value(self, path: Path) -> None:
        begin = self.at
        self.pass_value(path)
        # A plain value is read up to what follows it: blanks before that are not its own.
        self.spans[path] = begin, begin + len(self.text[begin : self.at].rstrip(" \t"))

    def pass_value(self, path: Path) -> None:
        first = self.text[self.at]
        if first == "[":
            self.array(path)
        elif first == "{":
            self.inline_table(path)
        elif first in "\"'":
            long = self.text.startswith(first * 3, self.at)
            basic = first == '"'
            self.skip((_LONG_BASIC if basic else _LONG_LITERAL) if long else (_BASIC if basic else _LITERAL))
        else:
            self.skip(_PLAIN_VALUE)

    def array(self, path: Path) -> None:
        number = 0
        while self.more("]"):
            element = (*path, number)
            self.lines[element] = self.line()
            self.value(element)
            number += 1

    def inline_table(self, path: Path) -> None:
        while self.more("}"):
            self.pair(path)

    def more(self, closing: str) -> bool:
        """Step over an opening bracket or comma; False, and past the bracket, at the end."""
        if self.text[self.at] in "[{,":
            self.at += 1
        self.skip(_BETWEEN)
        if self.text[self.at] == ",":
            self.at += 1
            self.skip(_BETWEEN)
        if self.text[self.at] == closing:
            self.at += 1
            return False
        return True
