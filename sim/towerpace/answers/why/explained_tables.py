"""The tables of an explanation over many trials: what each holds, and its rows."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import timedelta

import numpy as np

from towerpace.answers.estimates import percentile
from towerpace.answers.ledger.waits import SHIFT
from towerpace.answers.reconciled import RECONCILED, reconciled_table
from towerpace.answers.said.kinds import Kind, On
from towerpace.answers.said.tables import Column, Row, Table
from towerpace.answers.why.chain import DATE_CAUSE
from towerpace.answers.why.explain import ExplanationDetail
from towerpace.answers.why.stretches import said_cause, stretch_name
from towerpace.answers.why.unfinished import in_words
from towerpace.answers.why.waiting import CALENDAR_CLOCK, SHIFT_CLOCK, Waiting, waiting_of
from towerpace.units import DAY_MIN

SLOTS, STRIPS, GATE = "room on the floor", "drop zones", "places at the gate"
_SHARED = {"floor slots": SLOTS, "strip": STRIPS, "place at the gate": GATE}  # pools by kind
EVENTS = "site events"  # breakdowns, remakes on their way, and whatever else belongs to no trade
_CAUSES_SHOWN, _WAITS_SHOWN, _BANDS, _UNFINISHED_SHOWN = 5, 8, 8, 9
_LEAST_D, _LEAST_H = 0.05, 0.5  # what would read as 0.0 days or 0 hours is not said

_TRADE = Column("trade", Kind.NAME, " ", about="trade, or another row of the ledger")
_DAYS = Column(
    "mean_days", Kind.DAYS, "days", about="days of the finish, mean of the trials that finish", digits=1
)
_WORKED = Column(
    "working_days",
    Kind.DAYS,
    "working days",
    about="of these, what lies inside the shift, in working days of the trade's own calendar",
    digits=1,
)
_SHARE = Column("share", Kind.SHARE, "in trials", about="share of the finished trials in whose chain it is")

TRADES = Table(
    "trades",
    "The controlling chain by trade, average of the trials that finish",
    (
        _TRADE,
        _DAYS,
        Column(
            "closed_days", Kind.DAYS, "nights, closed days", about="of these, outside the shift", digits=1
        ),
        _WORKED,
        _SHARE,
        Column("spent", Kind.TEXT, "on what", about="working days inside the shift, and days that run on"),
    ),
    about="days of the finish that the chain spends on each trade, after it begins",
    note="Days run round the clock and add up to the chain; a working day is a shift of the work's own "
    "calendar. On what: working days inside the shift, else days.",
)
HELD = Table(
    "held",
    "What held the finish, by trade and cause",
    (
        _TRADE,
        Column("cause", Kind.NAME, about="what the time went into"),
        Column("mean_days", Kind.DAYS, "days", about="days of the finish, mean of the trials that finish"),
        _WORKED,
        _SHARE,
    ),
    about="days of the finish by trade and cause; all of them add up to the mean finish",
    groups=True,
    folded=True,
    on=On.ALL & ~On.TERMINAL,
)
LEVELS = Table(
    "levels",
    "On which levels",
    (Column("level", Kind.COUNT, about="number of the level"), _DAYS, _SHARE),
    about="days of the finish that the chain spends on each level, after it begins",
)
BANDS = Table(
    "bands",
    LEVELS.title,
    (
        Column("levels", Kind.NAME, " "),
        _DAYS,
        Column("busiest", Kind.NAME, "busiest level"),
        Column("busiest_days", Kind.DAYS, "days of it", digits=1),
        Column("share", Kind.SHARE, "in trials"),
    ),
    on=On.TERMINAL,
)
POOLS = Table(
    "pools",
    "Through which resource the chain runs, on its way to the next who waits for it",
    (
        Column("pool", Kind.NAME, " ", about="resource; slots, strips and places at the gate together"),
        _DAYS,
        _SHARE,
    ),
    about="days of the finish that run through units of a resource others wait for",
)
BEGINS = Table(
    "begins",
    "With what the chain begins",
    (
        Column("begins", Kind.NAME, " ", about="first work or event of the chain"),
        Column("date", Kind.DATE, "not before", about="its planned date, before which nothing could start"),
        _SHARE,
    ),
    about="with what the chains begin; what comes before does not hold the finish",
    on=On.ALL & ~On.TERMINAL,
)
_WAIT_COLUMNS = (
    Column("trade", Kind.NAME, " ", about="trade, or another row of the ledger"),
    Column("thing", Kind.NAME, "what waits", about="what waits: a work area, a crate, a truck"),
    Column("awaited", Kind.NAME, "for", about="resource, or what comes before"),
    Column("clock", Kind.NAME, about="shift: hours inside the shift; calendar: hours that run day and night"),
    Column("things", Kind.NUMBER, "how many", about="of them in a trial, mean", digits=0),
    Column("each_h", Kind.HOURS, "each waits [h]", about="hours that one of them waits, mean"),
    Column("mean_h", Kind.HOURS, "all together [h]", about="hours of all of them together, mean of a trial"),
)
WAITING = Table(
    "waiting",
    "Who waits for what, average of all trials",
    _WAIT_COLUMNS,
    about="waits of every kind of thing for every resource, and for what comes before",
    folded=True,
    on=On.ALL & ~On.TERMINAL,
)
_SHORT_COLUMNS = (*_WAIT_COLUMNS[:3], *(c for c in _WAIT_COLUMNS[4:]))
SHORT_OF = Table(
    "short_of_a_resource",
    "Who waits for a resource: shift hours, average of all trials",
    _SHORT_COLUMNS,
    on=On.TERMINAL,
)
BEFORE = Table(
    "for_what_comes_before",
    "Who waits for what comes before: hours day and night, average of all trials",
    _SHORT_COLUMNS,
    on=On.TERMINAL,
)
TYPICAL = Table(
    "typical",
    "Trials to look at",
    (
        Column("percentile", Kind.NAME, " ", about="P80: four trials in five finish as early or earlier"),
        Column("trial", Kind.COUNT, about="number of a trial that finishes there"),
        Column("finish", Kind.DATE, about="day of its finish"),
    ),
    about="a trial at each percentile, to be told one by one",
    on=On.ALL & ~On.TERMINAL,
)
UNFINISHED = Table(
    "unfinished",
    "Trials that do not finish",
    (
        Column("trial", Kind.COUNT, about="number of the trial, from 0"),
        Column("steps_left", Kind.COUNT, about="steps that have not ended"),
        Column("locked", Kind.TRUTH, "stuck for good", about="nothing could go on, however long the clock"),
        Column("waits_for", Kind.TEXT, about="what one of the first unfinished steps waits for"),
    ),
    about="a row a wait of every trial that does not finish inside the horizon",
    groups=True,
    most=_UNFINISHED_SHOWN,
)
EXPLAINED_TABLES = (TRADES, HELD, LEVELS, POOLS, BEGINS, WAITING, TYPICAL, UNFINISHED, RECONCILED)


def explained_tables(why: ExplanationDetail) -> tuple[Table, ...]:
    """All tables over many trials: those of `EXPLAINED_TABLES`, then what a terminal has besides."""
    levels, waiting = list(_levels(why)), waiting_of(why)
    long = len(levels) > _BANDS
    return (
        TRADES.filled(_trades(why)),
        HELD.filled(_held(why)),
        Table(**{**vars(LEVELS), "on": LEVELS.on & ~On.TERMINAL if long else LEVELS.on}).filled(levels),
        POOLS.filled(_pools(why)),
        BEGINS.filled(_begins(why)),
        WAITING.filled((w.trade, w.thing, w.awaited, w.clock, w.things, w.each_h, w.mean_h) for w in waiting),
        TYPICAL.filled(_typical(why)),
        UNFINISHED.filled(_unfinished(why)),
        reconciled_table(why.reconciled if why.finished else (), trials=why.removal_trials),
        BANDS.filled(_bands(levels) if long else ()),
        _longest(SHORT_OF, [w for w in waiting if w.clock == SHIFT_CLOCK]),
        _longest(BEFORE, [w for w in waiting if w.clock == CALENDAR_CLOCK]),
    )


def _trades(why: ExplanationDetail) -> Iterator[Row]:
    """Every trade on the chain, without the wait for the date of its begin; the longest first."""
    days, share = _after_begin(why), why.criticality("held")
    worked = why.working_days
    closed = why.causes.index(SHIFT)
    order = np.argsort(-days.sum(axis=1), kind="stable")
    for row in order[days.sum(axis=1)[order] > 0].tolist():
        inside = float(worked[row].sum())
        spent = _spent(why, days[row], worked[row])
        name = why.rows[row] or EVENTS
        yield name, float(days[row].sum()), float(days[row, closed]), inside, float(share[row]), spent


def _after_begin(why: ExplanationDetail) -> np.ndarray:
    """Mean days by row and cause without the wait for planned dates, (n_rows, n_causes)."""
    days = why.held_days.copy()
    days[:, why.causes.index(DATE_CAUSE)] = 0.0
    return days


def _spent(why: ExplanationDetail, days: np.ndarray, worked: np.ndarray) -> str:
    """Causes of one row, the longest first: inside the shift in working days, others in days."""
    said = []
    for cause in np.argsort(-days, kind="stable").tolist():
        name = why.causes[cause]
        if name != SHIFT and days[cause] >= _LEAST_D:
            said.append(f"{said_cause(name)} {worked[cause] or days[cause]:.1f}")
    return ", ".join(said[:_CAUSES_SHOWN])


def _held(why: ExplanationDetail) -> Iterator[Row]:
    """The longest first; the wait for the date at which a chain begins is no cause, and comes last."""
    days, worked = why.held_days, why.working_days
    touched = (why.outcomes.values["held"] > 0).sum(axis=0) / max(1, why.finished)
    places = np.argwhere(days > 0).tolist()
    for i, j in sorted(places, key=lambda place: (why.causes[place[1]] == DATE_CAUSE, -days[tuple(place)])):
        inside = float(worked[i, j]) or None
        yield why.rows[i] or EVENTS, why.causes[j], float(days[i, j]), inside, float(touched[i, j])


def _levels(why: ExplanationDetail) -> Iterator[Row]:
    values, plan = why.outcomes.values, why.ready.tower.plan
    minutes, floors = values["by_level"].copy(), {v: k for k, v in enumerate(why.ready.tower.levels)}
    dates = values["held"][:, :, why.causes.index(DATE_CAUSE)].sum(axis=1)
    for trial in np.flatnonzero(dates).tolist():
        level = plan.tags(int(values["first"][trial])).level
        if level is not None:
            minutes[trial, floors[level]] -= dates[trial]
    for level, own in zip(why.ready.tower.levels, minutes.T, strict=True):
        ended = max(1, why.finished)
        yield level, float(own.sum()) / (DAY_MIN * ended), int(np.count_nonzero(own)) / ended


def _bands(levels: Sequence[Row]) -> Iterator[Row]:
    """Levels in bands, for a tall tower: the busiest level of each with its days."""
    size = -(-len(levels) // _BANDS)
    for first in range(0, len(levels), size):
        band = [
            (int(str(level)), float(str(days)), share) for level, days, share in levels[first : first + size]
        ]
        level, days, share = max(band, key=lambda row: row[1])
        name = f"L{band[0][0]}" + (f" to L{band[-1][0]}" if len(band) > 1 else "")
        busiest = (f"L{level}", days, share) if days else (None, None, None)
        yield name, sum(row[1] for row in band), *busiest


def _pools(why: ExplanationDetail) -> Iterator[Row]:
    """Resources through which the chain ran; slots, strips and places at the gate together."""
    groups: dict[str, list[int]] = {}
    pools = why.ready.tower.plan.pools
    for k, (name, kind) in enumerate(zip(pools.names, pools.kinds, strict=True)):
        groups.setdefault(_SHARED.get(kind, name), []).append(k)
    minutes, rows = why.outcomes.values["by_pool"], []
    for name, columns in groups.items():
        own = minutes[:, columns].sum(axis=1)
        if own.any():
            days = float(own.sum()) / (DAY_MIN * why.finished)
            rows.append((name, days, float(np.count_nonzero(own)) / why.finished))
    yield from sorted(rows, key=lambda row: -row[1])


def _begins(why: ExplanationDetail) -> Iterator[Row]:
    plan, first = why.ready.tower.plan, why.outcomes.values["first"]
    start = why.ready.tower.start
    names = Counter((stretch_name(plan, step), int(plan.date[step])) for step in first[first >= 0].tolist())
    for (name, minute), count in names.most_common():
        day = start + timedelta(days=minute // DAY_MIN) if minute > 0 else None
        yield name, day, count / why.finished


def _longest(table: Table, waiting: Sequence[Waiting]) -> Table:
    shown = [w for w in waiting if w.mean_h >= _LEAST_H][:_WAITS_SHOWN]
    left = len(waiting) - len(shown)
    note = f"The longest {len(shown)} of {len(waiting)}; all are in the files and in --json." if left else ""
    rows = [(w.trade, w.thing, w.awaited_said, w.things, w.each_h, w.mean_h) for w in shown]
    return table.filled(rows, note=note)


def _typical(why: ExplanationDetail) -> Iterator[Row]:
    """The trial that finishes at a percentile, to be looked at; none beyond the horizon."""
    for name, p in (("P50", 0.5), ("P80", 0.8)):
        value = percentile(why.finish, p).value
        if value is not None:
            yield name, int(np.flatnonzero(why.finish == value)[0]), why.ready.days.date_of(value)


def _unfinished(why: ExplanationDetail) -> Iterator[Row]:
    """A row a wait; a trial of which no wait is known has one all the same."""
    plan = why.ready.tower.plan
    for trial in why.unfinished:
        for words in [in_words(wait, plan) for wait in trial.waits] or [""]:
            yield trial.trial, trial.left, trial.locked, words
