"""The page of a report as plain data: chapters of paragraphs, tables, figures, lists and facts.

Texts are plain, without any markup, so that page and print are two renderings of the same thing.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date

TEXT, NUMBER, DATE, CHANCE = "text", "number", "date", "chance"
_UNITS = {"m_s": "m/s", "mm_h": "mm/h", "degC": "degC", "days": "days", "min": "min", "h": "h", "m": "m"}
WORDY = 40  # letters
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


@dataclass(frozen=True)
class Cell:
    """What a reader sees in a cell, and the exact value behind it for programs.

    value : ISO date or number as it is saved; "" for text and blanks. flag : why this cell asks for care.
    """

    text: str
    kind: str = TEXT
    value: str = ""
    flag: str = ""


@dataclass(frozen=True)
class Rows:
    """Rows of a table under a heading of their own, or under none."""

    rows: Sequence[Sequence[Cell]]
    heading: str = ""


@dataclass(frozen=True)
class Grid:
    """A table: the first cell of every row names the row.

    numeric : columns set to the right. folded : shown on demand, for its length. note : below it.
    """

    caption: str
    columns: Sequence[str]
    groups: Sequence[Rows]
    numeric: Sequence[bool]
    note: str = ""
    folded: bool = False
    what: str = "table"

    @property
    def wordy(self) -> bool:
        """Whether the cells hold sentences rather than numbers and names."""
        return any(len(one.text) > WORDY for group in self.groups for row in group.rows for one in row)


@dataclass(frozen=True)
class Picture:
    """A figure of the results folder. about : what it shows, in words. aspect : height over width."""

    name: str
    svg: str
    title: str
    about: str
    aspect: float
    what: str = "picture"


@dataclass(frozen=True)
class Curve:
    """The curve of the first page, drawn for wide and for narrow screens."""

    wide: str
    narrow: str
    title: str
    about: str
    what: str = "curve"


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


Block = Grid | Picture | Curve | Para | Items | Facts


@dataclass(frozen=True)
class Chapter:
    """A chapter; chapters without blocks are left out."""

    key: str
    title: str
    blocks: Sequence[Block] = field(default_factory=tuple)


@dataclass(frozen=True)
class Page:
    """The whole report.

    headline : the answer in one sentence or two. run : what it was made from. language : of the texts.
    """

    title: str
    kicker: str
    headline: str
    run: str
    first: Sequence[Block]
    chapters: Sequence[Chapter]
    created: str
    language: str = "en"


def day(value: date) -> str:
    """A date as it is read, in the same words on every machine.

    >>> day(date(2028, 4, 7))
    '7 Apr 2028'
    """
    return f"{value.day} {_MONTHS[value.month - 1]} {value.year}"


def number(value: float) -> str:
    """A number with as many digits as a reader needs.

    >>> [number(x) for x in (1234.5, 31.26, 2.5, 0.04, 0, 12)]
    ['1,234', '31.3', '2.5', '0.04', '0', '12']
    """
    if float(value).is_integer():
        return f"{value:,.0f}"
    size = abs(value)
    digits = 0 if size >= 100 else 1 if size >= 10 else 2
    shown = f"{value:,.{digits}f}"
    shown = shown.rstrip("0").rstrip(".") if "." in shown else shown
    return shown if float(shown.replace(",", "")) else f"{value:.1g}"


def chance(value: float) -> str:
    """A share in per cent, never rounded to certainty.

    >>> [chance(x) for x in (0.58333, 0.001, 0.999, 1.0, -0.001, -0.02)]
    ['58 %', 'under 1 %', 'over 99 %', '100 %', '0 %', '−2 %']
    """
    if 0 < value < 0.005:
        return "under 1 %"
    if 0.995 < value < 1:
        return "over 99 %"
    whole = round(100 * value)
    return f"−{-whole} %" if whole < 0 else f"{whole} %"


def between(low: float, high: float) -> str:
    """An interval of chances.

    >>> [between(0.516, 0.769), between(0.9455, 0.9997), between(0, 0.1)]
    ['52 to 77 %', '95 to over 99 %', '0 to 10 %']
    """
    return f"{chance(low).removesuffix(' %')} to {chance(high)}"


def unbroken(text: str) -> str:
    """A text whose dates and shares no line tears apart."""
    dates = re.sub(
        r"(\d) ([A-Z][a-z]{2})(?: (\d{4}))?", lambda m: "\u00a0".join(filter(None, m.groups())), text
    )
    return dates.replace(" %", "\u00a0%")


def cell(value: object, kind: str = TEXT, *, blank: str = "") -> Cell:
    """A cell of a value from a table; `blank` stands for what is not there."""
    if is_blank(value):
        return Cell(blank)
    if kind == DATE:
        iso = str(value)[:10]
        return Cell(day(date.fromisoformat(iso)), DATE, iso)
    if kind in (NUMBER, CHANCE):
        plain = float(str(value))
        exact = repr(int(plain)) if plain.is_integer() else repr(plain)
        return Cell(chance(plain) if kind == CHANCE else number(plain), kind, exact)
    return Cell(str(value))


def is_blank(value: object) -> bool:
    """Whether a value of a table is not there; a text never is, not even "nan"."""
    return value is None or (not isinstance(value, str) and str(value) in ("nan", "NaT", "<NA>"))


def signed(value: object, *, digits: int = 1) -> Cell:
    """A difference with its sign.

    >>> [signed(x).text for x in (-1.4301, 0, 2.0, None)]
    ['−1.4', '0.0', '+2.0', '']
    """
    found = cell(value, NUMBER)
    if not found.value:
        return found
    shown = f"{float(found.value):+,.{digits}f}".replace("-", "−")
    return Cell(shown if any(d in shown for d in "123456789") else shown[1:], NUMBER, found.value)


def words(name: str) -> str:
    """A name of the scenario file as words."""
    return name.replace("_", " ")


def heading(column: str) -> str:
    """The name of a column as words, its unit in brackets.

    >>> [heading(x) for x in ("p80_low_date", "mean_h", "working_days", "wind_above_m_s")]
    ['P80 low date', 'mean [h]', 'working days', 'wind above [m/s]']
    """
    stem, unit = stem_and_unit(column)
    return f"{stem} [{unit}]" if unit else stem


def stem_and_unit(column: str) -> tuple[str, str]:
    """The name of a column as words, and its unit or "".

    >>> stem_and_unit("wind_above_m_s")
    ('wind above', 'm/s')
    """
    stem, unit = column, ""
    for ending, shown in _UNITS.items():
        if column.endswith(f"_{ending}") and column != "working_days":
            stem, unit = column.removesuffix(f"_{ending}"), shown
            break
    return re.sub(r"\bp(\d\d)\b", r"P\1", words(stem)).replace("utc", "UTC"), unit


def grid(
    caption: str,
    columns: Sequence[str],
    rows: Iterable[Sequence[Cell]],
    *,
    note: str = "",
    folded: bool = False,
) -> Grid:
    """A table without groups; columns that hold only numbers go to the right."""
    return grouped(caption, columns, [Rows([*rows])], note=note, folded=folded)


def grouped(
    caption: str, columns: Sequence[str], groups: Sequence[Rows], *, note: str = "", folded: bool = False
) -> Grid:
    """A table whose rows stand in groups."""
    numeric = [_numeric([row[k] for one in groups for row in one.rows]) for k in range(len(columns))]
    digits = [_digits([row[k] for one in groups for row in one.rows]) for k in range(len(columns))]
    evened = [
        Rows(
            [[_even(one, d) for one, d in zip(row, digits, strict=True)] for row in group.rows], group.heading
        )
        for group in groups
    ]
    return Grid(caption, columns, evened, numeric, note, folded)


def _numeric(cells: Sequence[Cell]) -> bool:
    shown = [one for one in cells if one.text]
    return bool(shown) and all(one.kind in (NUMBER, CHANCE) for one in shown)


def _digits(cells: Sequence[Cell]) -> int:
    """Decimals of a column: enough for its largest number; none for counts."""
    found = [float(one.value) for one in cells if one.kind == NUMBER and one.value]
    if all(value.is_integer() for value in found):
        return 0
    largest = max(map(abs, found), default=0.0)
    return 0 if largest >= 1000 else 1 if largest >= 10 else 2


def _even(one: Cell, digits: int) -> Cell:
    """A number with the decimals of its column, unless it would vanish or has a form of its own."""
    if one.kind != NUMBER or one.text != number(float(one.value)):
        return one
    value = float(one.value)
    vanishes = value and not round(value, digits)
    return one if vanishes else Cell(f"{value:,.{digits}f}", NUMBER, one.value, one.flag)
