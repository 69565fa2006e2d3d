"""The tables of what knowing is worth: what each holds, and its rows."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise

import numpy as np

from towerpace.answers.choice.paired import Difference, paired_difference
from towerpace.answers.know.know import Known, Number
from towerpace.answers.know.value import Worth
from towerpace.answers.said.kinds import Kind, On
from towerpace.answers.said.people import number
from towerpace.answers.said.tables import Column, Row, Table, interval
from towerpace.units import Floats

NUMBERS_SHOWN = 12
LEAST_STRETCH = 0.03  # of the trials: shorter stretches of another choice are not told
MOST_STRETCHES = 3
MOST_BY_VALUE = 3  # numbers of which the losses are told value by value
CONSTANT = "always the same"
_WORTH = (
    Column("worth", Kind.NUMBER, "worth", about="of knowing it before choosing, at most, mean of a trial"),
    *interval("worth", Kind.NUMBER, about="end of its 95 % interval"),
    Column("changes", Kind.SHARE, "changes in", about="share of trials in which another would be chosen"),
)
OPTIONS = Table(
    "options",
    "What each choice loses without knowing",
    (
        Column("setup", Kind.NAME, "choice", about="name of the set-up; base is the scenario as it is"),
        Column("loss", Kind.NUMBER, "mean", about="mean of a trial"),
        Column(
            "diff_loss", Kind.NUMBER, "against the choice", about="loss less that of the choice", signed=True
        ),
        *interval("diff_loss", Kind.NUMBER, about="end of its 95 % interval", signed=True),
        Column("best_in", Kind.SHARE, "best in", about="share of trials in which it loses least"),
        Column("chosen", Kind.TRUTH, "chosen", about="whether it has the least mean"),
    ),
    about="a row a choice, the best first",
)
NUMBERS = Table(
    "numbers",
    "What it is worth to know a number first",
    (
        Column("number", Kind.NAME, about="what would be known, as a trial draws it"),
        Column("source", Kind.NAME, about="source of spread it belongs to", on=On.PROGRAMS | On.PAGE),
        Column("unit", Kind.NAME, about="of the number", on=On.PROGRAMS | On.PAGE),
        replace(_WORTH[0], blank=CONSTANT),
        *_WORTH[1:3],
        replace(_WORTH[3], on=On.PROGRAMS | On.PAGE),
        Column("shown", Kind.TRUTH, about="whether following it is shown to gain: it changes the choice"),
        Column(
            "rule",
            Kind.TEXT,
            "best choice by its value",
            about="the best choice by its value",
            on=On.PROGRAMS | On.PAGE,
        ),
        Column("p10", Kind.NUMBER, "P10", about="of the number", uneven=True, on=On.PROGRAMS),
        Column("p90", Kind.NUMBER, "P90", about="of the number", uneven=True, on=On.PROGRAMS),
    ),
    about="a row a drawn number, what is worth most first",
    most=NUMBERS_SHOWN,
    first_rows=True,
    note="shown: followed in trials that did not teach it, it gains; at 95 %, all numbers together",
)
TOGETHER = Table(
    "sources",
    "All numbers of a source known at once",
    (
        Column("source", Kind.NAME, about="source of spread"),
        Column("numbers", Kind.COUNT, about="drawn numbers that vary"),
        *_WORTH,
    ),
    about="a row a source of spread; blank where its numbers are too many for the trials",
)
BY_VALUE = Table(
    "by_value",
    "What the choices lose by the value of a number",
    (
        Column("number", Kind.NAME, about="one of those that would change the choice"),
        Column("value", Kind.NUMBER, about="of the number, in its own unit", uneven=True),
        Column("setup", Kind.NAME, "choice", about="that without knowing, or one that is best somewhere"),
        Column(
            "diff_loss",
            Kind.NUMBER,
            about="expected loss less that without knowing",
            signed=True,
        ),
    ),
    about="expected losses at the 5th, 10th, ... 95th percentile of the numbers that are worth most",
    on=On.PROGRAMS,
)
KNOW_TABLES = (NUMBERS, TOGETHER, OPTIONS, BY_VALUE)
_IN_UNIT = {"worth", "worth_low", "loss", "diff_loss", "diff_loss_low"}


def know_tables(known: Known) -> tuple[Table, ...]:
    """All tables, in the order of `KNOW_TABLES`."""
    unit = "d" if known.by == "days" else known.unit
    digits = 1 if unit == "d" else _digits(known)
    return (
        _in_unit(NUMBERS, unit, digits).filled(_numbers(known)),
        _in_unit(TOGETHER, unit, digits).filled(_together(known)),
        _in_unit(OPTIONS, unit, 1 if unit == "d" else None).filled(_options(known)),
        _in_unit(BY_VALUE, unit, digits).filled(_by_value(known)),
    )


def _digits(known: Known) -> int | None:
    """Decimals of money: a ten-thousandth of what the least choice loses, and nothing finer, is told."""
    least = 0.0 if known.losses is None else float(known.losses.mean(axis=0).min())
    return None if least <= 0 else max(0, 4 - int(np.floor(np.log10(least))))


def _in_unit(table: Table, unit: str, digits: int | None) -> Table:
    """The same table with the unit in which the choices lose."""
    return replace(table, columns=[_with_unit(column, unit, digits) for column in table.columns])


def _with_unit(column: Column, unit: str, digits: int | None) -> Column:
    if column.kind is not Kind.NUMBER or column.uneven:
        return column
    if column.name not in _IN_UNIT or column.to:
        return replace(column, unit=unit, digits=digits)
    return replace(column, unit=unit, digits=digits, label=f"{column.label} [{unit}]")


def _numbers(known: Known) -> Iterator[Row]:
    for one in known.numbers:
        drawn = one.drawn
        p10, p90 = (float(value) for value in np.quantile(drawn.values, (0.1, 0.9)))
        shown = None if one.worth is None else one.proven
        rule = rule_of(known, one) if one.proven else None
        yield drawn.name, drawn.source, drawn.unit, *_row_of(one.worth), shown, rule, p10, p90


def _together(known: Known) -> Iterator[Row]:
    for one in known.together:
        yield one.source, one.numbers, *_row_of(one.worth)


def _row_of(worth: Worth | None) -> Row:
    return (None,) * 4 if worth is None else (worth.value, worth.low, worth.high, worth.changes)


def _options(known: Known) -> Iterator[Row]:
    losses = known.losses
    if losses is None:
        return
    chosen = int(losses.mean(axis=0).argmin())
    least = losses.argmin(axis=1)
    for option in np.argsort(losses.mean(axis=0), kind="stable").tolist():
        against = _difference(losses, option, chosen)
        ends = (None,) * 3 if against is None else (against.mean, against.low, against.high)
        best_in = float(np.mean(least == option))
        yield known.setups[option].name, float(losses[:, option].mean()), *ends, best_in, option == chosen


def _by_value(known: Known) -> Iterator[Row]:
    for one in [one for one in known.numbers if one.proven][:MOST_BY_VALUE]:
        worth, values = one.worth, one.drawn.values
        if worth is None or known.chosen is None:
            continue  # never: nothing would be proven
        order = np.argsort(values, kind="stable")
        places = order[(np.arange(0.05, 0.99, 0.05) * len(order)).astype(np.int64)]
        shown = sorted({known.chosen, *np.unique(worth.best[places]).tolist()})
        for place in places.tolist():
            for option in shown:
                loss = float(worth.fitted[place, option])
                yield one.drawn.name, float(values[place]), known.setups[option].name, loss


def _difference(losses: Floats, option: int, chosen: int) -> Difference | None:
    if option == chosen or len(losses) < 2:
        return None
    return paired_difference(losses[:, option], losses[:, chosen])


def rule_of(known: Known, one: Number) -> str:
    """The best choice by the value of a number, in words; "" where knowing it changes nothing.

    Stretches of a few trials are the noise of the fit and go with their neighbours.
    """
    if one.worth is None:
        return ""
    values, names = one.drawn.values, [setup.name for setup in known.setups]
    stretches = _stretches(values, one.worth)
    if len(stretches) < 2:
        return ""
    if len(stretches) > MOST_STRETCHES:
        return f"changes {len(stretches) - 1} times"
    if one.drawn.unit == "befalls":
        return ", ".join(
            f"'{names[best]}' if it {'befalls' if low else 'does not'}" for best, low in stretches
        )
    (first, _), *others = stretches
    parts = [f"'{names[first]}' below {number(others[0][1])}"]
    parts += [f"'{names[best]}' from {number(low)}" for best, low in others]
    return ", ".join(parts)


def _stretches(values: Floats, worth: Worth) -> list[tuple[int, float]]:
    """Runs of the same best choice over the sorted values: the choice, and the least value of the run."""
    order = np.argsort(values, kind="stable")
    best, ordered = worth.best[order], values[order]
    edges = [0, *(np.flatnonzero(np.diff(best)) + 1).tolist(), len(best)]
    runs: list[tuple[int, float]] = []
    for begin, end in pairwise(edges):
        is_long = end - begin >= LEAST_STRETCH * len(best)
        if is_long and (not runs or runs[-1][0] != int(best[begin])):
            runs.append((int(best[begin]), float(ordered[begin])))
    return runs
