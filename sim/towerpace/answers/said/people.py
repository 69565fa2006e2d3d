"""Values as people read them: one form for every kind, the same in a terminal, on a page and in print."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from math import floor, isfinite, isnan, log10

from towerpace.answers.said.kinds import Kind
from towerpace.answers.said.tables import Column, Value

_WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_MOST_DIGITS = 6


def day(value: date) -> str:
    """A date, in the same words on every machine.

    >>> day(date(2027, 3, 25))
    'Thu 25 Mar 2027'
    """
    return f"{_WEEKDAYS[value.weekday()]} {value.day:02d} {MONTHS[value.month - 1]} {value.year}"


def words(name: str) -> str:
    """A name of the scenario file as words.

    >>> words("floor_crane")
    'floor crane'
    """
    return name.replace("_", " ")


def number(value: float, *, digits: int | None = None, signed: bool = False) -> str:
    """A number with as many decimals as a reader needs, never a signed zero.

    >>> [number(x) for x in (1234.5, 31.26, 2.5, 0.04, 0, -0.0, 12)]
    ['1,234', '31.3', '2.50', '0.0400', '0', '0', '12']
    >>> [number(x, digits=1, signed=True) for x in (-1.43, 0.04, -0.01, 2.0)]
    ['-1.4', '0.0', '0.0', '+2.0']
    """
    if not isfinite(value):
        return "none"
    places = digits if digits is not None else digits_of([value])
    text = f"{value:{'+' if signed else ''},.{places}f}"
    return text if any(letter in text for letter in "123456789") else text.lstrip("+-")


def digits_of(values: Iterable[float]) -> int:
    """Decimals that suit numbers which stand together: none for whole ones, three figures of the largest.

    >>> digits_of([12.25, 0.5]), digits_of([3, 4]), digits_of([0.042])
    (1, 0, 4)
    """
    known = [abs(value) for value in values if isfinite(value)]
    if all(value.is_integer() for value in map(float, known)):
        return 0
    largest = max(known)
    return max(0, min(_MOST_DIGITS, 2 - floor(log10(largest)))) if largest < 100 else 0


def share(value: float, *, digits: int = 0) -> str:
    """A share in per cent, never rounded to certainty.

    >>> [share(x) for x in (0.58333, 0.001, 0.999, 1.0, 0.0)]
    ['58 %', 'under 1 %', 'over 99 %', '100 %', '0 %']
    >>> share(0.7912, digits=1), share(0.9999, digits=1)
    ('79.1 %', 'over 99.9 %')
    """
    step = 10.0**-digits
    shown = round(100 * value, digits)
    if value > 0 and shown <= 0:
        return f"under {step:.{digits}f} %"
    if value < 1 and shown >= 100:
        return f"over {100 - step:.{digits}f} %"
    return f"{shown + 0.0:.{digits}f} %"


def shown(value: Value, column: Column, *, digits: int | None = None) -> str:
    """A value of a column as people read it.

    digits : decimals where the column does not say them, such as those of all its values together.
    """
    if value is None or (isinstance(value, float) and isnan(value)):
        return column.blank
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, date):
        return day(value)
    if isinstance(value, str):
        return value
    places = column.digits if column.digits is not None else digits
    if column.kind is Kind.SHARE and not column.signed:
        # An estimate of a share may fall below none at all.
        return share(max(0.0, value), digits=column.digits or 0)
    if column.kind.is_whole:
        places = 0
    return number(value, digits=places, signed=column.signed)


def ends(low: Value, high: Value, column: Column, *, digits: int | None = None) -> str:
    """An interval as people read it: one day is said once, the unit at its end.

    >>> ends(0.52, 0.77, Column("chance_low", Kind.SHARE))
    '52 to 77 %'
    """
    if low is None or high is None:
        return column.blank
    first, last = shown(low, column, digits=digits), shown(high, column, digits=digits)
    if first == last:
        return "the same day" if column.kind is Kind.DATE else first
    return f"{first.removesuffix(' %') if last.endswith(' %') else first} to {last}"


def texts(values: Sequence[Value], column: Column) -> list[str]:
    """The values of a column, with the same decimals all the way down."""
    numbers = [float(v) for v in values if isinstance(v, int | float) and not isinstance(v, bool)]
    even = numbers and column.kind is not Kind.SHARE and not column.uneven
    digits = digits_of(numbers) if even else None
    return [shown(value, column, digits=digits) for value in values]


def shown_columns(
    columns: Sequence[Column], rows: Sequence[Sequence[Value]]
) -> list[tuple[Column, list[str]]]:
    """Columns as people read them, with the text of every row: the two ends of an interval as one column."""
    place = {column.name: k for k, column in enumerate(columns)}
    joined = {column.to for column in columns if column.to}
    said = []
    for k, column in enumerate(columns):
        if column.name in joined:
            continue
        values = [row[k] for row in rows]
        if not column.to:
            said.append((column, texts(values, column)))
            continue
        others = [row[place[column.to]] for row in rows]
        numbers = [float(v) for v in (*values, *others) if isinstance(v, int | float)]
        digits = digits_of(numbers) if numbers and column.kind is not Kind.SHARE else None
        both = zip(values, others, strict=True)
        said.append((column, [ends(low, high, column, digits=digits) for low, high in both]))
    return said
