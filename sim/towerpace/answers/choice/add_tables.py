"""The tables of an advice: every addition alone, and the path of one after the other."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from towerpace.answers.choice.add import AdviceDetail, Ranked
from towerpace.answers.choice.differences import COST_DIFF, DAYS_DIFF, P80_DIFF, aside, ends_of, in_unit
from towerpace.answers.days import Days
from towerpace.answers.estimates import BEYOND
from towerpace.answers.said.kinds import Kind, On
from towerpace.answers.said.tables import Column, Row, Table, interval

_NAMES = (
    Column("addition", Kind.TEXT, "change", about="resource and change in one, or the name of a candidate"),
    Column("resource", Kind.NAME, about="what is added to; of a candidate its name", on=On.PROGRAMS),
    Column("change", Kind.TEXT, about="units more or less, or keys that change", on=On.PROGRAMS),
)
_NOTE = Column("note", Kind.TEXT, about="what the scenario says of a candidate", on=On.PROGRAMS)
_COST = (Column("diff_cost", Kind.MONEY, "cost", signed=True, digits=0, about=COST_DIFF[0].about),)
_TRIALS = Column("trials", Kind.COUNT, about="played of it")
_VERDICT = Column("verdict", Kind.TEXT, about="what can be said of it")
RANKING = Table(
    "ranking",
    "One change at a time: days of the finish, with it less without",
    (
        *_NAMES,
        _NOTE,
        *DAYS_DIFF,
        P80_DIFF[0],
        *aside(P80_DIFF[1:]),
        *_COST,
        *aside(COST_DIFF[1:]),
        *aside((_TRIALS,)),
        _VERDICT,
    ),
    about="every addition alone, the best first, then one less of each",
)
PATH = Table(
    "path",
    "One after the other",
    (
        Column("step", Kind.COUNT, "", about="place in the order of additions"),
        *_NAMES,
        *DAYS_DIFF,
        *aside(P80_DIFF),
        *_COST,
        *aside(COST_DIFF[1:]),
        *aside((_TRIALS, _VERDICT)),
        Column("p80", Kind.DATE, "then P80", about="of the finish with all of them so far", blank=BEYOND),
        *aside(interval("p80", Kind.DATE, about="end of its 95 % interval", blank=BEYOND)),
    ),
    about="additions one after the other, each against the step before",
)
ADD_TABLES = (RANKING, PATH)


def add_tables(advice: AdviceDetail) -> tuple[Table, ...]:
    """All tables of an advice, in the order of `ADD_TABLES`."""
    cost = advice.base.scenario.settings.cost
    unit = "" if cost is None else cost.unit
    return (
        in_unit(RANKING, unit).filled(_ranking(advice)),
        in_unit(PATH, unit).filled(_path(advice)),
    )


def _ranking(advice: AdviceDetail) -> Iterator[Row]:
    for ranked in advice.ranking:
        yield *_names(ranked), ranked.option.note, *_buys(ranked)


def _path(advice: AdviceDetail) -> Iterator[Row]:
    days = Days(advice.base.scenario.settings)
    for step, stride in enumerate(advice.path, 1):
        p80 = (stride.p80.value, stride.p80.low, stride.p80.high)
        yield step, *_names(stride.ranked), *_buys(stride.ranked), *(_day(minute, days) for minute in p80)


def _day(minute: int | None, days: Days) -> date | None:
    return None if minute is None else days.date_of(minute)


def _names(ranked: Ranked) -> Row:
    return ranked.option.name, ranked.option.resource, ranked.option.change


def _buys(ranked: Ranked) -> Row:
    differences = (ranked.days, ranked.p80_days, ranked.money)
    ends = [end for difference in differences for end in ends_of(difference)]
    return *ends, ranked.trials, ranked.verdict
