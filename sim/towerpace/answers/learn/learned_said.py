"""Learned against stated, trade by trade: as tables and sentences for people."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

import numpy as np

from towerpace.answers.learn.counts import FromCounts
from towerpace.answers.learn.later_breaks import GUESSED
from towerpace.answers.learn.later_breaks import NOT_TOLD as NOT_TOLD_APART
from towerpace.answers.learn.losses import LossSeen
from towerpace.answers.learn.posterior import Learned
from towerpace.answers.learn.site import SiteSeen, TradeSeen
from towerpace.answers.said.answer import Method
from towerpace.answers.said.kinds import Kind, On
from towerpace.answers.said.people import ends, number, words
from towerpace.answers.said.tables import Column, Row, Table, interval

LOW, HIGH = 0.05, 0.95
BEYOND = 0.99  # of the stated paces: the rest are trials in which everything went wrong at once
FROM_LOG, FROM_COUNTS, AS_STATED = "log", "counts", "nothing yet"
OVERRULES, DOUBTS = "overrules the range", "may lie beyond it"
DOUBTFUL = 0.2  # share of what is known beyond 99 % of the stated paces, from which on it is told; judgement
NOT_TOLD = "weather not told"

NOT_ON_TERMINALS = On.ALL & ~On.TERMINAL

_STATED = interval(
    "stated", Kind.NUMBER, label="stated, 90 %", about="end of what nine in ten stated paces lie in", digits=2
)
_LEVEL = interval(
    "level", Kind.NUMBER, label="90 % interval", about="end of its 90 % interval", digits=2, blank="-"
)


def _number(name: str, label: str, about: str) -> Column:
    return Column(name, Kind.NUMBER, label, about=about, blank="-", digits=2, on=NOT_ON_TERMINALS)


LEARNED = Table(
    "learned",
    "Pace: what the site has shown, beside what was stated",
    (
        Column("trade", Kind.NAME, " ", about="trade; its pace is minutes over those stated"),
        *_STATED,
        Column("level", Kind.NUMBER, "learned", about="median of what is known now", blank="-", digits=2),
        *_LEVEL,
        Column("learned_from", Kind.NAME, "from", about="log, counts of the sheet, or nothing yet"),
        Column("items", Kind.COUNT, about="items with known minutes", blank="-"),
        Column(
            "running",
            Kind.COUNT,
            about="items still in progress: longer than so far",
            blank="-",
            on=On.ALL & ~On.TERMINAL,
        ),
        Column("dated", Kind.COUNT, "by day", about="known to the day only", blank="-", on=NOT_ON_TERMINALS),
        _number("scatter", "scatter", "scatter of items over that stated, median"),
        _number("front_sd", "fronts", "sd of ln minutes that the items of a front have in common, median"),
        Column("remark", Kind.TEXT, about="what a reader should look at"),
    ),
    about="pace of every trade, stated and learned",
)
ODD = Table(
    "odd_items",
    "Items that do not go with the others of their trade",
    (
        Column("trade", Kind.NAME, " "),
        Column("stated", Kind.TEXT, "stated minutes", about="how their minutes are stated"),
        Column("items", Kind.COUNT, about="items with known minutes"),
        Column(
            "ratio", Kind.NUMBER, "times", about="their minutes over what the trade's pace says", digits=2
        ),
    ),
    about="kinds outside the 99 % band about the pace of their trade: their own stated minutes are in doubt",
)
CHANCES = Table(
    "learned_chances",
    "Losses of panels: what the site has shown, beside what was stated",
    (
        Column("trade", Kind.NAME, " "),
        Column("family", Kind.NAME, about="column that counts the panels of the family"),
        Column(
            "loss", Kind.NAME, about="unfit when unpacked, broken in handling, or later by the work of others"
        ),
        Column("stated", Kind.SHARE, about="chance of a panel by the scenario", digits=1),
        Column("chance", Kind.SHARE, "learned", about="mean of what is known now", digits=1, blank="-"),
        *interval(
            "chance",
            Kind.SHARE,
            label="90 % interval",
            about="end of its 90 % interval",
            digits=1,
            blank="-",
        ),
        Column("lost", Kind.COUNT, about="panels lost so", blank="-"),
        Column(
            "exposed", Kind.COUNT, "of", about="panels of which it is known, young ones in part", blank="-"
        ),
        Column("remark", Kind.TEXT, about="what a reader should know"),
    ),
    about="chances that panels are lost, stated and learned; a stated one weighs as much as four losses",
)
LEARNING = Method(
    "Paces are learned by Bayes' rule from minutes worked: stated range with a tail, scatter, effect of "
    "fronts; items in progress are longer than so far. The numbers of the priors are judgement, without a "
    "source.",
    "A. Gelman et al. (2013), Bayesian Data Analysis, 3rd ed. (from memory).",
)


def learned_tables(seen: SiteSeen) -> Iterator[Table]:
    """Learned against stated, and items that do not go with the others where there are any."""
    yield LEARNED.filled(_row(trade) for trade in seen.trades)
    odd = [(t.trade, o.stated, o.items, o.ratio) for t in seen.trades for o in t.odd]
    if odd:
        yield ODD.filled(odd)


def chance_table(losses: Iterable[LossSeen]) -> Table:
    """Chances of losing panels, stated and learned; terminals show remarks where there are any."""
    losses = list(losses)
    table = CHANCES.filled(
        (*loss.kind, loss.stated, *_known_chance(loss), loss.remark or None) for loss in losses
    )
    if any(loss.remark for loss in losses):
        return table
    *columns, remark = table.columns
    return replace(table, columns=(*columns, replace(remark, on=NOT_ON_TERMINALS)))


def _known_chance(loss: LossSeen) -> Row:
    """Mean and ends of what is known now, panels lost and exposed; nothing where nothing is known."""
    if not loss.exposed:
        return (None,) * 5
    ends_at = loss.chance.quantile(np.array([LOW, HIGH])).tolist()
    return loss.chance.mean, *ends_at, loss.lost, round(loss.exposed)


def loss_sentences(losses: Iterable[LossSeen]) -> Iterator[str]:
    """Which chances stay as stated, and of which the way of the loss is a guess."""
    losses = list(losses)
    if any(loss.remark == GUESSED for loss in losses):
        yield (
            "Of panels that only the sheet calls lost nobody tells whether they were unfit or broken: they "
            "count as what the scenario calls likelier."
        )
    if any(loss.remark == NOT_TOLD_APART for loss in losses):
        yield (
            "The chance that others break a panel after it was set stays as stated: a sheet tells how many "
            "panels are lost, not who broke them. A log that names single panels, 'set' and later 'broken', "
            "teaches it."
        )


def learned_sentences(seen: SiteSeen) -> Iterator[str]:
    """What a planner must know of it, the gravest first."""
    for trade in seen.trades:
        if trade.told is not None and overrules(trade):
            low, middle, high = (float(trade.told.quantile(u)) for u in (LOW, 0.5, HIGH))
            span = ends(low, high, _LEVEL[0])
            yield (
                f"{words(trade.trade).capitalize()}: the site overrules the stated range: "
                f"{number(middle, digits=2)} ({span})."
            )
    if names := ", ".join(words(trade.trade) for trade in seen.trades if doubts(trade)):
        yield (
            f"May lie beyond the stated range: {names}. The stated range still holds back what so few items "
            "say; look at it before the next update."
        )
    for trade in seen.trades:
        for odd in trade.odd:
            yield (
                f"{words(trade.trade).capitalize()}: {odd.items} items stated as {odd.stated} take "
                f"{number(odd.ratio, digits=2)} times what the pace of the trade says."
            )
    if untold := [trade for trade in seen.trades if trade.untold]:
        names = ", ".join(words(trade.trade) for trade in untold)
        yield (
            f"Not learned from the log, for weather stops them and that of the site is not given: {names}. "
            "Their minutes would hold the wind that is drawn once more."
        )
    if counted := [trade for trade in untold if isinstance(trade.told, FromCounts)]:
        yield f"Learned from the counts of the sheet instead: {', '.join(words(t.trade) for t in counted)}."


def doubts(seen: TradeSeen) -> bool:
    """Whether a fifth of what is known lies beyond 99 % of what was stated, on one side, and not nearly all.

    Few items cannot overrule a range: of simulated sites that lay beyond it 83 and 86 in a hundred were told
    so after 7 and 18 items, of sites as believed 4 or 5 (`bench_learning`).
    """
    if seen.told is None or overrules(seen):
        return False
    ends_at = seen.told.quantile(np.array([DOUBTFUL, 1 - DOUBTFUL]))
    return bool(ends_at[0] < seen.prior.stated(1 - BEYOND) or ends_at[1] > seen.prior.stated(BEYOND))


def overrules(seen: TradeSeen) -> bool:
    """Whether nine tenths of what is known now lie beyond 99 % of what was stated, on one side."""
    if seen.told is None:
        return False
    low, high = (float(seen.told.quantile(u)) for u in (LOW, HIGH))
    return low > seen.prior.stated(BEYOND) or high < seen.prior.stated(1 - BEYOND)


def _row(seen: TradeSeen) -> Row:
    stated = (seen.prior.stated(LOW), seen.prior.stated(HIGH))
    told = seen.told
    if told is None:
        remark = NOT_TOLD if seen.untold else None
        return (seen.trade, *stated, None, None, None, AS_STATED, *[None] * 5, remark)
    level = [float(told.quantile(u)) for u in (0.5, LOW, HIGH)]
    remark = OVERRULES if overrules(seen) else DOUBTS if doubts(seen) else None
    if not isinstance(told, Learned):
        remark = remark or (NOT_TOLD if seen.untold else None)
        return (seen.trade, *stated, *level, FROM_COUNTS, *[None] * 5, remark)
    counts = (told.exact, told.running, told.dated)
    return (
        seen.trade,
        *stated,
        *level,
        FROM_LOG,
        *counts,
        float(told.scatter(0.5)),
        float(told.front_sd(0.5)),
        remark,
    )
