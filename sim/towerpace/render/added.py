"""What to add, as tidy tables: every addition alone, and the path of one after the other."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from towerpace import __version__
from towerpace.answers.days import Days
from towerpace.render.compared import DIFFERENCES, MONEY
from towerpace.render.tables.columns import DATE, NUMBER, TEXT, WHOLE, frame
from towerpace.render.tables.forecast import HASH_SHOWN

if TYPE_CHECKING:
    from pandas import DataFrame

    from towerpace.answers.choice.add import Advice, Ranked

Rows = Iterator[tuple[object, ...]]
_BUYS = {
    "resource": TEXT,
    "change": TEXT,
    **dict.fromkeys((*DIFFERENCES, *MONEY), NUMBER),
    "unit": TEXT,
    "trials": WHOLE,
    "verdict": TEXT,
}
ADDED_TABLES: dict[str, dict[str, str]] = {
    "ranking": _BUYS,
    "path": {"stride": WHOLE, **_BUYS, "p80_date": DATE},
}


def added_tables(advice: Advice, *, seed: int) -> dict[str, DataFrame]:
    """Every table of an advice by name; differences are against what is added to, less is earlier."""
    stamp = (advice.base.scenario.hash[:HASH_SHOWN], seed, __version__)
    rows = {"ranking": _ranking(advice), "path": _path(advice)}
    return {name: frame(name, made, stamp=stamp, tables=ADDED_TABLES) for name, made in rows.items()}


def name_of(resource: str, change: str) -> str:
    """What is added, in words; a candidate has a name of its own beside the keys it changes.

    >>> name_of("hoist", "+1"), name_of("long_saturday", "calendar.site.week.sat = ('08:00-16:15',)")
    ('hoist +1', 'long_saturday')
    """
    return resource if " = " in change else f"{resource} {change}"


def _ranking(advice: Advice) -> Rows:
    for one in advice.ranking:
        yield _bought(one, advice)


def _path(advice: Advice) -> Rows:
    days = Days(advice.base.scenario.settings)
    for k, stride in enumerate(advice.path, 1):
        date = None if stride.finish_p80 is None else days.date_of(stride.finish_p80)
        yield k, *_bought(stride.ranked, advice), date


def _bought(one: Ranked, advice: Advice) -> tuple[object, ...]:
    found = (one.days, one.p80_days, one.money)
    values = [v for d in found for v in ((None,) * 3 if d is None else (d.mean, d.low, d.high))]
    cost = advice.base.scenario.settings.cost
    unit = "" if cost is None else cost.unit
    return one.option.resource, one.option.change, *values, unit, one.trials, one.verdict
