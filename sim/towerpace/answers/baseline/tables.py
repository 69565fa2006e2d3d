"""The tables of a baseline: what each holds, and its rows."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date

import numpy as np

from towerpace.answers.baseline.baseline import Baseline
from towerpace.answers.baseline.health import HEALTH, health_rows
from towerpace.answers.baseline.items import FRONTS, MILESTONES, ONCE
from towerpace.answers.estimates import BEYOND, Percentile
from towerpace.answers.said.kinds import Kind, On
from towerpace.answers.said.tables import Column, Row, Table, interval
from towerpace.units import Ints

_SHOWN = 12
_WHERE = {
    "what": Column("what", Kind.NAME, " ", about="trade, activity or milestone"),
    "level": Column("level", Kind.COUNT, about="number of its level"),
    "zone": Column("zone", Kind.NAME, about="its zone"),
}
_EVENT = {FRONTS: "{what} L{level} {zone} done, baseline", ONCE: "{what} done, baseline"}
_EVENT[MILESTONES] = "{what} {level}, baseline"


def _dates(kind: str) -> tuple[Column, ...]:
    return (
        Column("baseline_begun", Kind.DATE, "begun", about="begins by this day in the baseline"),
        Column("baseline", Kind.DATE, about="done by this day in the baseline", event=_EVENT[kind]),
        Column("p50", Kind.DATE, "P50", about="half of the trials have done it", blank=BEYOND),
        Column("p80", Kind.DATE, "P80", about="four trials in five have", blank=BEYOND),
        *interval("p80", Kind.DATE, about="end of the 95 % interval of P80", on=On.PROGRAMS),
        Column("kept", Kind.SHARE, about="share of the trials that keep the baseline's date"),
        Column(
            "float_days",
            Kind.DAYS,
            "float",
            about="working days that it may be late along the links, median of the trials",
            digits=0,
        ),
        Column("float_p10", Kind.DAYS, about="nine trials in ten leave more", digits=0, on=On.PROGRAMS),
        Column("on_chain", Kind.SHARE, about="share of the trials in whose controlling chain it stands"),
    )


def _hiding(columns: Sequence[Column], *names: str) -> tuple[Column, ...]:
    """The columns, some of which a terminal has no room for."""
    hidden = On.ALL & ~On.TERMINAL
    return tuple(
        replace(column, on=column.on & hidden) if column.name in names else column for column in columns
    )


_NO_ROOM = ("baseline_begun", "p50", "on_chain")
MILESTONE = Table(
    "milestones",
    "Milestones",
    _hiding((_WHERE["what"], _WHERE["level"], *_dates(MILESTONES)), *_NO_ROOM),
    about="handovers, closing-ins and the finish",
    most=_SHOWN,
)
ACTIVITY = Table(
    "activities",
    "What happens once",
    _hiding((_WHERE["what"], *_dates(ONCE)), *_NO_ROOM),
    about="activities, the mock-up, and panels left out to the end",
)
FRONT = Table(
    "fronts",
    "Work areas",
    _hiding((*_WHERE.values(), *_dates(FRONTS)), *_NO_ROOM),
    about="every trade on every zone of every level",
    note="Float: working days along the links alone. What is late inside its float may still hold a gang or "
    "a crane that others need.",
    most=_SHOWN,
)
KEPT = Table(
    "kept",
    "The chance of keeping dates together",
    (
        Column("dates", Kind.NAME, " ", about="P50 or P80 of each by itself, or the baseline"),
        Column("of", Kind.NAME, about="all of a kind, or everything"),
        Column("count", Kind.COUNT, "dates", about="how many dates"),
        Column("least", Kind.SHARE, "each alone", about="chance of the date that is kept least often"),
        Column("chance", Kind.SHARE, "all together", about="share of the trials that keep all of them"),
        *interval("chance", Kind.SHARE, about="end of its 95 % interval"),
    ),
    about="joint chance: dates of each by itself do not add up",
    groups=True,
)
_ENDS = tuple(
    Column(f"{end}_{name}", column.kind, f"{end} {name}", about=f"{said}: {column.about}")
    for end, said in (("before", "what comes first"), ("after", "what waits for it"))
    for name, column in _WHERE.items()
)
_LINK = Column("link", Kind.NAME, about="FS: all of it before any of the other; partly: step by step")
LOGIC = Table(
    "logic",
    "Logic",
    (*_ENDS, _LINK),
    about="which work waits for which; trucks, crates and curing in between are passed through",
    folded=True,
    on=On.FILE | On.PAGE,
)
_KINDS = {FRONTS: "work areas", ONCE: "activities", MILESTONES: "milestones", None: "all"}
BASELINE_TABLES = (MILESTONE, ACTIVITY, FRONT, KEPT, HEALTH, LOGIC)


def baseline_tables(base: Baseline) -> tuple[Table, ...]:
    """All tables, in the order of `BASELINE_TABLES`."""
    rows = list(_rows(base))
    of = {kind: [k for k, item in enumerate(base.items) if item.kind == kind] for kind in _EVENT}
    return (
        MILESTONE.filled((base.items[k].what, base.items[k].level, *rows[k]) for k in of[MILESTONES]),
        ACTIVITY.filled((base.items[k].what, *rows[k]) for k in of[ONCE]),
        FRONT.filled((*_where(base, k), *rows[k]) for k in of[FRONTS]),
        KEPT.filled(_kept(base)),
        HEALTH.filled(health_rows(base)),
        LOGIC.filled((*_where(base, a), *_where(base, b), kind) for a, b, kind in base.links),
    )


def _where(base: Baseline, k: int) -> Row:
    item = base.items[k]
    return item.what, item.level, item.zone


def _rows(base: Baseline) -> Iterator[Row]:
    begun, done = base.baseline("begun"), base.baseline("done")
    half, four_fifths = base.percentile("done", 0.5), base.percentile("done", 0.8)
    kept, chain = base.kept(done).mean(axis=0), base.outcomes.values["on_chain"].mean(axis=0)
    floats = base.floats
    for k in range(len(base.items)):
        spare = _spare(floats[:, k])
        keeps = None if done[k] is None else float(kept[k])
        dates = (_date(base, half[k].value), *_with_interval(base, four_fifths[k]))
        yield begun[k], done[k], *dates, keeps, *spare, float(chain[k])


def _spare(floats: Ints) -> Row:
    """Median and lower tenth of a float; none where no trial finished."""
    if not len(floats):
        return None, None
    return float(np.median(floats)), float(np.quantile(floats, 0.1, method="lower"))


def _with_interval(base: Baseline, estimate: Percentile) -> Row:
    ends = (estimate.low, estimate.high) if estimate.bounded else (None, None)
    return tuple(_date(base, minute) for minute in (estimate.value, *ends))


def _date(base: Baseline, minute: int | None) -> date | None:
    return None if minute is None else base.ready.days.date_of(minute)


def _kept(base: Baseline) -> Iterator[Row]:
    for name, dates in stated_dates(base):
        kept = base.kept(dates)
        for kind, words in _KINDS.items():
            of = base.dated(dates, kind=kind)
            if of:
                joint, least = base.joint(dates, kind=kind), float(kept[:, of].mean(axis=0).min())
                yield name, words, len(of), least, joint.value, joint.low, joint.high


def stated_dates(base: Baseline) -> Iterator[tuple[str, list[date | None]]]:
    """The lists of dates whose joint chance is told, with their names."""
    if base.own:
        yield "own dates", base.baseline("done")
        return
    for p in sorted({0.5, 0.8, base.at}):
        yield f"P{100 * p:g}", [_date(base, estimate.value) for estimate in base.percentile("done", p)]
