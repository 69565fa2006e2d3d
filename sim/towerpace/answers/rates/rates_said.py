"""Rates of a site as everybody gets them: minutes, paces, losses, moves, and the set-up to paste."""

from __future__ import annotations

from collections.abc import Iterator

from towerpace.answers.cautions import LIMITS_CAUTION
from towerpace.answers.learn.learned_said import (
    CHANCES,
    LEARNED,
    LEARNING,
    ODD,
    chance_table,
    learned_sentences,
    learned_tables,
)
from towerpace.answers.learn.site import SiteSeen
from towerpace.answers.rates.fragment import NOTE, changes_of, setup_name
from towerpace.answers.rates.rates import FEWEST, Rates, TradeRate
from towerpace.answers.run_of import run_of
from towerpace.answers.said.answer import Answer, Method
from towerpace.answers.said.kinds import Kind, On
from towerpace.answers.said.people import day, number, words
from towerpace.answers.said.tables import Chapter, Column, Fact, Row, Table, interval
from towerpace.scenario.as_toml import toml_value

RATES_FIGURES = ("learned",)
_LOW, _HIGH = 0.05, 0.95
_NO_ROOM = On.ALL & ~On.TERMINAL
RATES = Table(
    "rates",
    "Working minutes of one item",
    (
        Column("trade", Kind.NAME, " ", about="trade"),
        Column("column", Kind.NAME, "of", about="column of the level table that counts the items"),
        Column("stated_min", Kind.NUMBER, "stated", unit="min", about="mean as stated, at pace 1", digits=1),
        Column("site_min", Kind.NUMBER, "site", unit="min", about="mean as the log shows it", digits=1),
        *interval("site_min", Kind.NUMBER, label="90 % interval", about="end of its 90 % interval", digits=1),
        Column("items", Kind.COUNT, about="items with known minutes, of the whole trade"),
        Column("gangs", Kind.COUNT, about="gangs that did them", blank="-"),
        Column("remark", Kind.TEXT, about="what a reader should know"),
        Column(
            "scatter", Kind.NUMBER, about="scatter of items over that stated, median", digits=2, on=_NO_ROOM
        ),
        *interval(
            "scatter", Kind.NUMBER, label="90 %", about="end of its 90 % interval", digits=2, on=_NO_ROOM
        ),
        Column("first", Kind.DATE, "from", about="first day of the log", on=_NO_ROOM),
        Column("last", Kind.DATE, "to", about="last day of the log", on=_NO_ROOM),
    ),
    about="mean working minutes of one item, stated and as the log shows them, trade by trade",
    note="All gangs of a trade together. Difficulty and learning of each front are taken out.",
    groups=True,
)
TIMED = Table(
    "moves",
    "Moves and hoist trips",
    (
        Column("what", Kind.TEXT, " ", about="move or trip"),
        Column("stated_min", Kind.NUMBER, "stated", unit="min", about="mean as stated", digits=1),
        Column("site_min", Kind.NUMBER, "site", unit="min", about="mean as the log shows it", digits=1),
        *interval("site_min", Kind.NUMBER, label="90 % interval", about="end of its 90 % interval", digits=1),
        Column("times", Kind.COUNT, "seen", about="how often it was seen"),
    ),
    about="minutes of crane moves and of loading hoists, stated and as the log shows them",
)
SETUP = Table(
    "setup",
    "For the next bid",
    (
        Column("key", Kind.NAME, about="dotted key of a scenario"),
        Column("value", Kind.TEXT, about="new value with its source, as TOML"),
    ),
    about="changes of a scenario that the log asks for",
    folded=True,
    on=On.PROGRAMS,
)
RATES_TABLES = (RATES, LEARNED, CHANCES, TIMED, SETUP)
_MOVES = Method(
    "A crane's move is read from gaps between two panels that a gang sets one after the other: the share of "
    "gaps without a move in which it waited is taken to hold for the others, too."
)
_ANOTHER_JOB = (
    "Rates of one site under its own conditions: what held it up for all of the time (a weak gang, a crowded "
    "site) is in its minutes. Who bids with them should say so."
)


def said(rates: Rates) -> Answer:
    """The rates as everybody gets them."""
    ready = rates.ready
    told = SiteSeen([rate.seen for rate in rates.trades])
    tables = [RATES.filled(row for rate in rates.trades for row in _rows(rate))]
    tables += learned_tables(told)
    tables += [table for table in (chance_table(rates.losses), TIMED.filled(_timed(rates))) if table.rows]
    tables.append(SETUP.filled((key, toml_value(value)) for key, value in changes_of(rates).items()))
    return Answer(
        question="rates",
        about="What the site's log says for the next bid",
        run=run_of(ready.scenario, ready.tower, seed=0, trials=0),
        said=_said(rates),
        facts=_facts(rates),
        tables=tables,
        chapters=list(_chapters(rates, told, {table.name for table in tables})),
        cautions=[*_privacy(rates), _ANOTHER_JOB, LIMITS_CAUTION],
        figures=RATES_FIGURES if rates.trades else (),
        methods=[LEARNING, _MOVES],
    )


def _said(rates: Rates) -> str:
    if not rates.trades:
        return "The log shows no minutes of any trade."
    items = sum(rate.count for rate in rates.trades)
    far = max(rates.trades, key=lambda rate: abs(rate.level - 1))
    n = len(rates.trades)
    return (
        f"{items:,} items of {n} {'trade' if n == 1 else 'trades'} tell minutes; furthest from those stated "
        f"{'are those of' if n > 1 else 'are the only ones, of'} {words(far.trade)}: "
        f"{number(far.level, digits=2)} times."
    )


def _facts(rates: Rates) -> list[Fact]:
    record, days = rates.record, list(rates.logged.values())
    return [
        Fact(Column("data_date", Kind.DATE, about="day up to which the record was read"), record.at),
        Fact(Column("record_hash", Kind.NAME, about="SHA-256 of the files of the record"), record.hash),
        Fact(Column("rows", Kind.COUNT, about="rows of the log about trades"), sum(d.rows for d in days)),
        Fact(Column("setup", Kind.NAME, about="name of the set-up"), setup_name(rates)),
    ]


def _chapters(rates: Rates, told: SiteSeen, names: set[str]) -> Iterator[Chapter]:
    record = rates.record
    at = f"Read up to {day(record.at)}, record {record.hash[:12]}."
    yield Chapter("Minutes", (at, _said(rates)), ("rates",))
    shown = [name for name in (LEARNED.name, ODD.name) if name in names]
    yield Chapter("Pace", [*learned_sentences(told), *_silent(rates)], shown)
    losses = [name for name in (CHANCES.name, TIMED.name) if name in names]
    if losses:
        yield Chapter("Losses, moves and trips", _not_seen(rates), losses)
    yield Chapter("For the next bid", (f"Set-up {setup_name(rates)}: {NOTE}",), (SETUP.name,))


def _silent(rates: Rates) -> Iterator[str]:
    if rates.untaught:
        names = ", ".join(words(trade) for trade in rates.untaught)
        yield f"Rows that tell no minutes (in coats, under untold weather, or in part): {names}."


def _not_seen(rates: Rates) -> list[str]:
    keys = {key for timed in rates.timed for key in timed.keys}
    settings = rates.ready.scenario.settings
    said = []
    if settings.hoist is not None and "hoist.load_min" not in keys:
        said.append("Of the hoist nothing is told: that takes rows crates_up with the number of one crate.")
    if settings.crane is not None:
        said.append("Setting up and moving between zones and levels cannot be told from waiting.")
    return said


def _privacy(rates: Rates) -> Iterator[str]:
    alone = [words(rate.trade) for rate in rates.trades if rate.logged.gangs == 1]
    few = [words(rate.trade) for rate in rates.trades if rate.count < FEWEST]
    if alone:
        yield (
            f"Of one gang alone: {', '.join(alone)}. Such rates are those of people who can be known: ask "
            "them before the rates leave the site."
        )
    if few:
        yield f"From fewer than {FEWEST} items: {', '.join(few)}. They say little, and of few people."


def _rows(rate: TradeRate) -> Iterator[Row]:
    low, high = (float(rate.learned.quantile(u)) for u in (_LOW, _HIGH))
    scatter = [float(rate.learned.scatter(u)) for u in (0.5, _LOW, _HIGH)]
    for item in rate.items:
        mean = item.stated.mean()
        minutes = (mean, rate.level * mean, low * mean, high * mean)
        logged, remark = rate.logged, ", ".join(rate.remarks) or None
        counts = (rate.count, logged.gangs, remark)
        yield (rate.trade, item.column, *minutes, *counts, *scatter, logged.first, logged.last)


def _timed(rates: Rates) -> Iterator[Row]:
    for timed in rates.timed:
        yield timed.name, timed.stated, *timed.site, timed.times
