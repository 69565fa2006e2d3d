"""A table and its columns: all that anybody who shows it needs to know."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import TypeAlias

from towerpace.answers.said.kinds import Kind, On

Value: TypeAlias = str | int | float | bool | date | None
Row: TypeAlias = tuple[Value, ...]


@dataclass(frozen=True)
class Column:
    """A column of a table.

    Parameters
    ----------
    name : str
        In files, in JSON and in DataFrames; the same name for the same thing in every answer. The ends of an
        interval of `x` are `x_low` and `x_high`.
    kind : Kind
        What its values are.
    label : str
        The heading that people read; the name in words if left out.
    unit : str
        Of NUMBER and MONEY columns; other kinds bring their own. [-] if empty.
    about : str
        What it holds, in a sentence without a full stop, for `help` and the table of columns.
    to : str
        Name of the column that ends the interval which this one begins: people read both as "low to high".
    blank : str
        What people read where there is no value; programs get none.
    signed : bool
        A difference: people read its sign.
    digits : int, optional
        Decimals that people read; by the size of the largest value if left out.
    uneven : bool
        Whether the rows are in different units, so that each value has decimals of its own.
    event : str
        What a calendar calls the day, other columns of the row in braces; it stands in none if left out.
    on : On
        Who sees it.
    """

    name: str
    kind: Kind
    label: str = ""
    unit: str = ""
    about: str = ""
    to: str = ""
    blank: str = ""
    signed: bool = False
    digits: int | None = None
    uneven: bool = False
    event: str = ""
    on: On = On.ALL

    @property
    def heading(self) -> str:
        """What stands above it for people, its unit in brackets where the label does not say it."""
        label = self.label or self.name.replace("_", " ")
        unit = self.unit or self.kind.unit
        return f"{label} [{unit}]" if unit and not self.label else label


def interval(name: str, kind: Kind, *, label: str = "95 % interval", **more: object) -> tuple[Column, Column]:
    """The two columns of an interval of `name`, which people read as one.

    >>> [column.name for column in interval("p80", Kind.DATE)]
    ['p80_low', 'p80_high']
    """
    low = Column(f"{name}_low", kind, label, to=f"{name}_high", **more)  # type: ignore[arg-type]  # as of Column
    return low, replace(low, name=f"{name}_high", to="")


@dataclass(frozen=True)
class Table:
    """Rows of one kind of fact.

    Parameters
    ----------
    name : str
        Of its file, and in JSON and Python.
    title : str
        What people read above it.
    columns : sequence of Column
    rows : sequence of tuple
        A value a column; None where there is none, also for empty words. Dates are `datetime.date`,
        everything else plain Python.
    about : str
        What a row is, for `help`.
    note : str
        Below it, for people.
    groups : bool
        Whether the first column heads groups of rows for people, and is written once a group.
    most : int, optional
        Rows that a terminal shows; the others are passed over evenly, first and last kept.
    first_rows : bool
        Whether it shows the first ones instead: of a ranking.
    folded : bool
        Whether a page shows it on demand only.
    appendix : bool
        Whether print has it whole, at the end; other long folded tables are left to page and files.
    on : On
        Who sees it: a row a trial is for files only.
    """

    name: str
    title: str
    columns: Sequence[Column]
    rows: Sequence[Row] = ()
    about: str = ""
    note: str = ""
    groups: bool = False
    most: int | None = None
    first_rows: bool = False
    folded: bool = False
    appendix: bool = False
    on: On = On.ALL

    def filled(self, rows: Iterable[Row], *, note: str | None = None) -> Table:
        """The same table with these rows.

        Raises `ValueError` for a row of another length than the columns.
        """
        taken = tuple(tuple(None if value == "" else value for value in row) for row in rows)
        if wrong := next((row for row in taken if len(row) != len(self.columns)), None):
            raise ValueError(f"table {self.name}: {len(wrong)} values for {len(self.columns)} columns")
        return replace(self, rows=taken, note=self.note if note is None else note)

    def column(self, name: str) -> list[Value]:
        """The values of one column, in the order of the rows; raises `KeyError` for one that is not there."""
        place = next((k for k, column in enumerate(self.columns) if column.name == name), None)
        if place is None:
            raise KeyError(f"table {self.name} has no column {name}")
        return [row[place] for row in self.rows]


@dataclass(frozen=True)
class Fact:
    """A single number or name, described as a column is."""

    column: Column
    value: Value


@dataclass(frozen=True)
class Chapter:
    """Part of an answer that people read together.

    title : its heading. sentences : what it says, the answer first. shows : names of tables and figures of
    the answer, in order. on : who reads it.
    """

    title: str
    sentences: Sequence[str] = ()
    shows: Sequence[str] = field(default_factory=tuple)
    on: On = On.PEOPLE
