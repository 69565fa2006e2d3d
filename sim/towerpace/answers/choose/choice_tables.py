"""The tables of a choice: decisions, neighbours, what would change it, the trade-off, and all tried."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from towerpace.answers.choice.differences import (
    COST,
    COST_DIFF,
    DAYS_DIFF,
    P80_DIFF,
    aside,
    ends_of,
    in_unit,
)
from towerpace.answers.choose.choice import ChoiceDetail
from towerpace.answers.choose.goal import P80, Sample
from towerpace.answers.choose.held import Held
from towerpace.answers.choose.space import Point
from towerpace.answers.choose.turned_said import turn_row
from towerpace.answers.choose.verdicts import said_of
from towerpace.answers.days import Days
from towerpace.answers.estimates import BEYOND, percentile
from towerpace.answers.said.kinds import Kind, On
from towerpace.answers.said.tables import Column, Row, Table, Value, interval

_SETUP = Column("setup", Kind.TEXT, "set-up", about="decisions that depart from the file")
_P80 = Column("p80", Kind.DATE, "P80", about="four trials in five finish by this day", blank=BEYOND)
_CHANCE = Column("chance", Kind.SHARE, about="share of the trials that meet the date")
_TRIALS = Column("trials", Kind.COUNT, about="behind it")
DECISIONS = Table(
    "decisions",
    "What to decide",
    (
        Column("decision", Kind.NAME, about="name of the decision or candidate"),
        Column("file", Kind.TEXT, about="as the file is"),
        Column("choice", Kind.TEXT, about="as it is chosen"),
        Column("open", Kind.TEXT, "open to", about="all that it may be"),
    ),
    about="every decision, as the file has it and as it is chosen",
)
NEIGHBOURS = Table(
    "neighbours",
    "One decision a step further: with the step less the choice",
    (
        Column("decision", Kind.NAME, about="that takes a step"),
        Column("to", Kind.TEXT, about="to which of its values"),
        DAYS_DIFF[0],
        *aside(DAYS_DIFF[1:]),
        P80_DIFF[0],
        *aside(P80_DIFF[1:]),
        replace(COST_DIFF[0], label="cost"),
        *aside(COST_DIFF[1:]),
        _CHANCE,
        *aside(interval("chance", Kind.SHARE, about="end of its 95 % interval")),
        Column("chance_choice", Kind.SHARE, "of the choice", about="the same of the choice, in these trials"),
        *aside((_TRIALS,)),
        Column("verdict", Kind.TEXT, about="what can be said of it"),
    ),
    about="set-ups one step from the choice, each against it on fresh draws",
)
TURNS = Table(
    "turns",
    "What would change the choice",
    (
        Column("what", Kind.TEXT, about="date, confidence, budget, or the price of an item"),
        Column("now", Kind.TEXT, about="as asked, or as the file has it"),
        Column("turns_at", Kind.TEXT, "turns", about="where another set-up takes over"),
        Column("to", Kind.TEXT, "to", about="the set-up that takes over", blank="none that is known"),
        Column("factor", Kind.NUMBER, about="times the price of the file", on=On.PROGRAMS),
    ),
    about="dates, confidences, budgets and prices at which another of the set-ups known is better",
)
TRADE_OFF = Table(
    "trade_off",
    "The trade-off: what is kept finishes earlier than all that is cheaper",
    (
        Column("place", Kind.COUNT, "no.", about="by cost: in the figure, on the page and in kept names"),
        _SETUP,
        replace(COST, about="mean of a trial"),
        _P80,
        *aside(interval("p80", Kind.DATE, about="end of its 95 % interval", blank=BEYOND)),
        _CHANCE,
        *aside((_TRIALS,)),
        Column("verdict", Kind.TEXT, "", about="kept; beaten by another; the file; the choice"),
    ),
    about="set-ups by fresh draws, the cheapest first; kept are those that no other beats at cost and P80",
)
TRIED = Table(
    "tried",
    "Every set-up that was tried, by the trials of the search",
    (_SETUP, COST, _P80, _CHANCE, _TRIALS),
    about="every set-up that the search played, in the order of playing; a column a decision follows",
    folded=True,
    on=On.ALL & ~On.TERMINAL,
)
CHOICE_TABLES = (DECISIONS, NEIGHBOURS, TURNS, TRADE_OFF, TRIED)


def choice_tables(detail: ChoiceDetail) -> tuple[Table, ...]:
    """All tables of a choice, in the order of `CHOICE_TABLES`."""
    cost = detail.opened.scenario.settings.cost
    unit = "" if cost is None else cost.unit
    goal = detail.asked.goal
    dated = goal is not None and goal.due is not None
    decisions = DECISIONS if goal is not None else _without(DECISIONS, "choice")
    tables = (
        decisions.filled(_decisions(detail)),
        in_unit(NEIGHBOURS, unit).filled(_neighbours(detail)),
        TURNS.filled(turn_row(turn, detail) for turn in detail.turns),
        in_unit(TRADE_OFF, unit).filled(_trade_off(detail)),
        _tried(detail, unit),
    )
    return tables if dated else tuple(_without(table, "chance") for table in tables)


def _without(table: Table, name: str) -> Table:
    """The same without columns that nothing fills, for people."""
    columns = [
        replace(column, on=column.on & On.PROGRAMS) if column.name.startswith(name) else column
        for column in table.columns
    ]
    return replace(table, columns=columns)


def _decisions(detail: ChoiceDetail) -> Iterator[Row]:
    best = detail.best
    for number, decided in enumerate(detail.opened.decided):
        labels = [option.label for option in decided.options]
        choice = None if best is None else labels[best[number]]
        yield decided.name, labels[decided.standing], choice, ", ".join(labels)


def _neighbours(detail: ChoiceDetail) -> Iterator[Row]:
    best = detail.best
    if best is None:
        return
    for row in detail.neighbours:
        name, to = step_in_words(detail, best, row.point)
        days, p80, money = map(ends_of, (row.days, row.p80_days, row.money))
        yield name, to, *days, *p80, *money, *_met(row), row.n, said_of(row, detail)


def step_in_words(detail: ChoiceDetail, best: Point, point: Point) -> tuple[str, str]:
    """Name of the decision that departs, and to what; of several the first, with the others beside."""
    apart = [
        (decided.name, decided.options[place].label)
        for decided, place, own in zip(detail.opened.decided, point, best, strict=True)
        if place != own
    ]
    (name, to), *others = apart
    return name, ", ".join([to, *(f"{other} = {label}" for other, label in others)])


def _met(row: Held) -> Row:
    if row.met is None or row.other_met is None:
        return (None,) * 4
    return row.met.value, row.met.low, row.met.high, row.other_met.value


def _trade_off(detail: ChoiceDetail) -> Iterator[Row]:
    days = Days(detail.opened.scenario.settings)
    for place, one in enumerate(detail.curve, start=1):
        p80 = percentile(one.sample.finish, P80)
        ends = [None if minute is None else days.date_of(minute) for minute in (p80.value, p80.low, p80.high)]
        marks = [
            word
            for word, point in (("the choice", detail.best), ("the file", detail.opened.space.standing))
            if point == one.point
        ]
        verdict = ", ".join([*marks, one.verdict])
        cost = _known(one.sample.mean_cost)
        yield (
            place,
            detail.opened.name(one.point),
            cost,
            *ends,
            _chance(detail, one.sample),
            len(one.sample),
            verdict,
        )


def _chance(detail: ChoiceDetail, sample: Sample) -> float | None:
    goal = detail.asked.goal
    return None if goal is None or goal.due is None else float(np.mean(sample.finish <= goal.due))


def _known(value: float) -> float | None:
    return value if np.isfinite(value) else None


def _tried(detail: ChoiceDetail, unit: str) -> Table:
    decided = detail.opened.decided
    own = [
        Column(f"decision_{one.name}", Kind.TEXT, one.name, about=f"value of {one.name}", on=On.PROGRAMS)
        for one in decided
    ]
    wider = replace(TRIED, columns=(*TRIED.columns, *own))
    return in_unit(wider, unit).filled(_tried_rows(detail))


def _tried_rows(detail: ChoiceDetail) -> Iterator[Row]:
    days = Days(detail.opened.scenario.settings)
    for point, sample in detail.visited.samples.items():
        minute = sample.quantile_min(P80)
        p80 = days.date_of(int(minute)) if np.isfinite(minute) else None
        cost = _known(sample.mean_cost) if detail.is_priced else None
        labels: list[Value] = [
            one.options[place].label for one, place in zip(detail.opened.decided, point, strict=True)
        ]
        yield detail.opened.name(point), cost, p80, _chance(detail, sample), len(sample), *labels
