"""Columns of paired differences, the same wherever one set-up is held against another."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from towerpace.answers.choice.paired import Difference
from towerpace.answers.said.answer import Method
from towerpace.answers.said.kinds import Kind, On
from towerpace.answers.said.tables import Column, Row, Table, interval

PAIRED = Method(
    "Differences are paired, trial by trial. Their mean has the interval of Student's t, or where few trials "
    "are played that of the bootstrap-t; a difference of P80 has that of a bootstrap of the pairs.",
    "B. Efron & R. Tibshirani (1993), An Introduction to the Bootstrap, chapters 12 and 13.",
)
_END = "end of its 95 % interval"
DAYS_DIFF = (
    Column("diff_days", Kind.DAYS, "days", about="finish with less without", signed=True, digits=1),
    *interval("diff_days", Kind.DAYS, about=_END, signed=True, digits=1),
)
P80_DIFF = (
    Column(
        "p80_diff_days",
        Kind.DAYS,
        "P80 days",
        about="P80 of the finish with less without",
        signed=True,
        digits=1,
    ),
    *interval("p80_diff_days", Kind.DAYS, about=_END, signed=True, digits=1),
)
COST = Column("cost", Kind.MONEY, about="mean of a trial", digits=0)
COST_DIFF = (
    Column("diff_cost", Kind.MONEY, "difference", about="cost with less without", signed=True, digits=0),
    *interval("diff_cost", Kind.MONEY, about=_END, signed=True, digits=0),
)


def ends_of(difference: Difference | None) -> Row:
    """Mean and interval of a difference; three blanks where it is not known.

    Trials that all differ by the same tell of no spread, so they give no interval.
    """
    if difference is None:
        return (None,) * 3
    if difference.sd == 0:
        return difference.mean, None, None
    return difference.mean, difference.low, difference.high


def in_unit(table: Table, unit: str) -> Table:
    """The table with the unit of the scenario's money; without one people see no money."""
    return replace(table, columns=[_in_unit(column, unit) for column in table.columns])


def _in_unit(column: Column, unit: str) -> Column:
    if column.kind is not Kind.MONEY:
        return column
    if not unit:
        return replace(column, on=column.on & On.PROGRAMS)
    heading = f"{column.label or column.name} [{unit}]"
    return replace(
        column, unit=unit, label=column.label if column.name.endswith(("_low", "_high")) else heading
    )


def aside(columns: Sequence[Column]) -> tuple[Column, ...]:
    """The columns for programs and pages only: a terminal has no room for them."""
    return tuple(replace(column, on=column.on & ~On.TERMINAL) for column in columns)
