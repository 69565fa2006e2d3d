"""What became of promises: kept by week, reasons, and how good the chances that they were given."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from math import ceil

import numpy as np

from towerpace.answers.estimates import chance
from towerpace.answers.said.kinds import Kind, On
from towerpace.answers.said.people import words
from towerpace.answers.said.tables import Column, Row, Table, interval
from towerpace.answers.score.score import Settled
from towerpace.units import Flags, Floats, Ints

LEAST_FOR_BINS = 30  # promises with a chance; fewer are counted only
BINS = 5
SETTLED = Table(
    "promises",
    "Promises that were due",
    (
        Column("promise", Kind.NAME, "id", about="id of the promise"),
        Column("promised", Kind.TEXT, about="what was to be done"),
        Column("by", Kind.DATE, about="day at whose end it was due"),
        Column("kept", Kind.TRUTH, about="whether it was done by then"),
        Column(
            "done", Kind.DATE, about="day on which it was done, blank if not yet or nobody knows", blank="-"
        ),
        Column("told", Kind.TRUTH, about="whether somebody dated that", on=On.PROGRAMS),
        Column("chance", Kind.SHARE, about="chance that the last look ahead gave it", blank="-"),
        Column("who", Kind.NAME, about="who promised", blank="-", on=On.PROGRAMS),
        Column("reason", Kind.TEXT, about="why it was not kept", blank="-"),
    ),
    about="what became of every promise that was due",
    most=14,
)
WEEKS = Table(
    "kept_by_week",
    "Promises kept, week by week",
    (
        Column("week_end", Kind.DATE, "week to", about="last day of the week"),
        Column("due", Kind.COUNT, about="promises due in the week"),
        Column("kept", Kind.COUNT, about="of them kept"),
        Column("share", Kind.SHARE, about="share kept"),
    ),
    about="promises kept by week",
    most=12,
)
REASONS = Table(
    "reasons",
    "Why promises were not kept",
    (
        Column("reason", Kind.TEXT, about="as the file tells it", blank="not told"),
        Column("promises", Kind.COUNT, about="promises not kept"),
    ),
    about="promises that were not kept, by reason",
)
RELIABILITY = Table(
    "reliability",
    "Chances of promises, and how many were kept",
    (
        Column("least", Kind.SHARE, "from", about="least chance of the group"),
        Column("most", Kind.SHARE, "to", about="greatest chance of the group"),
        Column("promises", Kind.COUNT, about="promises of the group"),
        Column("chance", Kind.SHARE, about="mean chance that was given"),
        Column("kept", Kind.SHARE, about="share that was kept"),
        *interval("kept", Kind.SHARE, about="end of its 95 % interval, were they independent"),
    ),
    about="promises by the chance that was given",
    note="Right chances: in each group about as many are kept as the mean chance says. Promises of one site "
    "are kept and missed together, so groups stray further than their intervals say.",
)
PROMISE_TABLES = (SETTLED, WEEKS, REASONS, RELIABILITY)


def promise_tables(settled: Sequence[Settled]) -> Iterator[Table]:
    """All tables about promises, in the order of `PROMISE_TABLES`."""
    yield SETTLED.filled(_settled(settled))
    yield WEEKS.filled(_weeks(settled))
    yield REASONS.filled(_reasons(settled))
    yield RELIABILITY.filled(_reliability(settled))


def _settled(settled: Sequence[Settled]) -> Iterator[Row]:
    for one in settled:
        promise = one.promise
        said = promise.place._replace(what=words(promise.place.what)).said
        whole = said if promise.amount.whole else f"{said}: {promise.amount.said}"
        reason = promise.reason or None
        yield (
            promise.name,
            whole,
            promise.by,
            one.kept,
            None if one.missed_by_reason else one.done,
            one.told,
            one.chance,
            promise.who or None,
            reason,
        )


def _weeks(settled: Sequence[Settled]) -> Iterator[Row]:
    weeks: dict[date, list[bool]] = {}
    for one in sorted(settled, key=lambda one: one.promise.by):
        by = one.promise.by
        weeks.setdefault(by + timedelta(6 - by.weekday()), []).append(one.kept)
    for week, kept in weeks.items():
        yield week, len(kept), sum(kept), sum(kept) / len(kept)


def _reasons(settled: Sequence[Settled]) -> Iterator[Row]:
    yield from Counter(one.promise.reason for one in settled if not one.kept).most_common()


def _reliability(settled: Sequence[Settled]) -> Iterator[Row]:
    chances, kept = given(settled)
    if len(chances) < LEAST_FOR_BINS:
        return
    for group in _alike(chances):
        share = chance(kept[group])
        first, last = float(chances[group][0]), float(chances[group][-1])
        yield first, last, len(group), float(chances[group].mean()), share.value, share.low, share.high


def _alike(chances: Floats) -> Iterator[Ints]:
    """Places of promises in groups of about one size, by their chance; equal chances are never parted.

    chances : (n,) ascending.
    """
    least = len(chances) / BINS
    first = 0
    while first < len(chances):
        end = int(np.searchsorted(chances, chances[min(ceil(first + least), len(chances)) - 1], side="right"))
        # What would be left for a last group by itself goes along.
        end = len(chances) if len(chances) - end < least / 2 else end
        yield np.arange(first, end)
        first = end


def given(settled: Sequence[Settled]) -> tuple[Floats, Flags]:
    """Chances that looks ahead gave, ascending, and whether each promise was kept, (n,)."""
    told = sorted(((one.chance, one.kept) for one in settled if one.chance is not None), key=lambda x: x[0])
    chances = np.array([share for share, _ in told], dtype=np.float64)
    return chances, np.array([kept for _, kept in told], dtype=np.bool_)
