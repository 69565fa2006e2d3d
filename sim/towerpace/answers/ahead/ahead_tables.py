"""The tables of the weeks ahead: what each holds, and its rows."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from itertools import pairwise

import numpy as np

from towerpace.answers.ahead.ahead import WEEK_DAYS, Ahead
from towerpace.answers.ahead.fronts import Need
from towerpace.answers.ahead.waits import waits_for
from towerpace.answers.estimates import BEYOND, LATER, chance
from towerpace.answers.progress import ranked
from towerpace.answers.said.kinds import Kind, On
from towerpace.answers.said.people import words
from towerpace.answers.said.tables import Column, Row, Table, interval
from towerpace.record.promises import Promise
from towerpace.record.words import CRATES_UP, HANDOVER, TRUCKS_IN, Place
from towerpace.units import HOUR_MIN, WEEK_MIN, Ints

LEAST_CHANCE = 0.05  # rarer fronts would double the list
BAND = (("p10", 0.1), ("p50", 0.5), ("p90", 0.9))
_SHOWN = 14
_PLACE = Column("place", Kind.TEXT, " ", about="work, level and zone in words", on=On.PEOPLE)
_WHERE = (
    Column("what", Kind.NAME, about="word of the sheet", on=On.PROGRAMS),
    Column("level", Kind.COUNT, about="number of the level", on=On.PROGRAMS),
    Column("zone", Kind.NAME, about="side or bay", on=On.PROGRAMS),
)
_DAY = Column("day", Kind.DATE, about="day")
_PANELS = tuple(
    Column(f"panels_{p}", Kind.COUNT, f"panels {p.upper()}", about=f"panels set, {p.upper()}")
    for p, _ in BAND
)
_WEEK = Column("week_end", Kind.DATE, "week to", about="last day of the week")

PROMISES = Table(
    "promises",
    "What the promises are worth",
    (
        Column("promise", Kind.NAME, "id", about="id of the promise"),
        Column("promised", Kind.TEXT, about="what will be done"),
        Column("by", Kind.DATE, about="day at whose end it is due", event="due: {promised} ({promise})"),
        Column("chance", Kind.SHARE, about="share of the trials in which it is kept"),
        *interval("chance", Kind.SHARE, about="end of its 95 % interval", on=On.ALL & ~On.TERMINAL),
        Column("date_80", Kind.DATE, "P80", about="four trials in five are done by", blank=BEYOND),
        Column("waits_for", Kind.TEXT, about="what lets its next step begin in most trials"),
        Column("waits_share", Kind.SHARE, about="share of the trials in which it is that", on=On.PROGRAMS),
        Column("who", Kind.NAME, about="who promised", blank="-", on=On.ALL & ~On.TERMINAL),
    ),
    about="chance of every promise that is open at the data date",
)
WEEKS = Table(
    "weeks",
    "Panels and fronts, week by week",
    (
        _WEEK,
        *(
            Column(f"panels_{p}", Kind.COUNT, f"panels {p.upper()}", about=f"set, {p.upper()}")
            for p, _ in BAND
        ),
        Column("begun", Kind.NUMBER, "fronts begun", about="fronts begun in the week, mean", digits=1),
        Column("done", Kind.NUMBER, "done", about="fronts finished in the week, mean", digits=1),
    ),
    about="panels set and fronts begun and done in each week",
)
DAYS = Table(
    "days",
    "Panels, day by day",
    (
        _DAY,
        *(Column(f"panels_{p}", Kind.COUNT, p.upper(), about=f"panels set, {p.upper()}") for p, _ in BAND),
    ),
    about="panels set on each day",
    folded=True,
    on=On.PROGRAMS,
)
NEEDED = Table(
    "needed",
    "What must be there, and by when",
    (
        Column("needed", Kind.TEXT, " ", about="what, level and zone in words", on=On.PEOPLE),
        *_WHERE,
        Column(
            "needed_by",
            Kind.DATE,
            about="in one trial of ten the work that needs it begins by this day",
            event="needed by: {needed}",
        ),
        Column("p50", Kind.DATE, "P50", about="half of the trials begin that work by", blank=BEYOND),
        Column("chance", Kind.SHARE, "in these weeks", about="share of the trials that need it in them"),
    ),
    about="crates, trucks, handovers and gangs with the day by which they are needed",
    note="Needed by: in one trial of ten the work that needs it begins by that day, in nine later.",
    most=_SHOWN,
)
FRONTS = Table(
    "fronts",
    "Fronts that may begin or end",
    (
        _PLACE,
        *_WHERE,
        Column("begins", Kind.DATE, "begins, P50", about="half of the trials have begun it by", blank=BEYOND),
        Column(
            "begun_chance",
            Kind.SHARE,
            "begun",
            about="share of the trials that begin it in these weeks; none where it has begun",
            blank="under way",
        ),
        Column("ends", Kind.DATE, "ends, P50", about="half of the trials have finished it by", blank=BEYOND),
        Column("done_chance", Kind.SHARE, "done", about="share of the trials that finish it in these weeks"),
    ),
    about="every front that begins or ends in these weeks in one trial of twenty or more",
    most=_SHOWN,
    folded=True,
)
_RESOURCE = Column("resource", Kind.NAME, about="as the scenario names it")
_HOURS = (
    Column("hours_p50", Kind.HOURS, "hours, P50", about="unit-hours held for work, half of the trials"),
    Column("hours_p90", Kind.HOURS, "hours, P90", about="nine trials in ten need no more"),
)
BOOKINGS = Table(
    "bookings",
    "Hoists and unloading bay, day by day",
    (_RESOURCE, _DAY, *_HOURS),
    about="hours for which hoists and the unloading bay are wanted on each day",
    groups=True,
    folded=True,
    on=On.PROGRAMS,
)
RESOURCES = Table(
    "resources",
    "Hours of every resource, week by week",
    (_RESOURCE, _WEEK, *_HOURS),
    about="hours for which gangs, cranes and hoists are wanted in each week",
    groups=True,
    folded=True,
    on=On.PROGRAMS,
)
AHEAD_TABLES = (PROMISES, WEEKS, NEEDED, FRONTS, DAYS, BOOKINGS, RESOURCES)


def ahead_tables(ahead: Ahead) -> tuple[Table, ...]:
    """All tables, in the order of `AHEAD_TABLES`; promises only where there are any."""
    promises = [PROMISES.filled(_promises(ahead))] if ahead.promises else []
    return (
        *promises,
        WEEKS.filled(_weeks(ahead)),
        NEEDED.filled(_needed(ahead)),
        FRONTS.filled(_fronts(ahead)),
        DAYS.filled(_days(ahead)),
        BOOKINGS.filled(_bookings(ahead)),
        RESOURCES.filled(_resources(ahead)),
    )


def _promises(ahead: Ahead) -> Iterator[Row]:
    kept, done = ahead.kept, ahead.outcomes.values["kept"]
    for k, promise in enumerate(ahead.promises):
        worth = chance(kept[:, k])
        name, what, by = promise.name, _promised(promise), promise.by
        date_80 = _date(ahead, int(ranked(done[:, k], 0.8)))
        yield (
            name,
            what,
            by,
            worth.value,
            worth.low,
            worth.high,
            date_80,
            *waits_for(ahead, k),
            promise.who or None,
        )


def _promised(promise: Promise) -> str:
    """What is promised, in words: how far unless it is all."""
    place = promise.place._replace(what=words(promise.place.what)).said
    return place if promise.amount.whole else f"{place}: {promise.amount.said}"


def _date(ahead: Ahead, minute: int, *, begins: bool = False) -> date | None:
    """The day of a moment: what ends at midnight ended the day before, what begins then begins that day."""
    if minute == LATER:
        return None
    return ahead.ready.days.date_of(minute + (1 if begins else 0))


def _weeks(ahead: Ahead) -> Iterator[Row]:
    panels = ahead.outcomes.values["panels"].reshape(ahead.trials, ahead.weeks, WEEK_DAYS).sum(axis=2)
    bands = [ranked(panels, p) for _, p in BAND]
    edges = ahead.state.past.until + WEEK_MIN * np.arange(ahead.weeks + 1)
    begun, done = (_within(ahead.outcomes.values[name], edges) for name in ("begun", "done"))
    for week, last in enumerate(ahead.days[WEEK_DAYS - 1 :: WEEK_DAYS]):
        yield last, *(int(band[week]) for band in bands), begun[week], done[week]


def _within(minutes: Ints, edges: Ints) -> list[float]:
    """How many groups of a trial come in each span, mean. [-]"""
    inside = (((minutes > a) & (minutes <= b)).sum(axis=1) for a, b in pairwise(edges.tolist()))
    return [float(count.mean()) for count in inside]


def _days(ahead: Ahead) -> Iterator[Row]:
    bands = [ranked(ahead.outcomes.values["panels"], p) for _, p in BAND]
    for k, day in enumerate(ahead.days):
        yield day, *(int(band[k]) for band in bands)


def _needed(ahead: Ahead) -> Iterator[Row]:
    minutes, within = ahead.outcomes.values["needed"], ahead.by_then("needed").mean(axis=0)
    first, half = ranked(minutes, 0.1), ranked(minutes, 0.5)
    for k in np.argsort(first, kind="stable").tolist():
        if first[k] <= ahead.until:
            need = ahead.needs[k]
            dates = (_date(ahead, int(times[k]), begins=True) for times in (first, half))
            yield _needed_said(need), need.what, need.level, need.zone, *dates, float(within[k])


def _needed_said(need: Need) -> str:
    what = {CRATES_UP: "crates on the floor", TRUCKS_IN: "crates on site"}.get(need.what, words(need.what))
    return Place(what, need.level, need.zone).said


def _fronts(ahead: Ahead) -> Iterator[Row]:
    begun, done = ahead.outcomes.values["begun"], ahead.outcomes.values["done"]
    until, since = ahead.until, ahead.state.past.until
    begins, ends = (_shares(times, since, until) for times in (begun, done))
    half = [ranked(times, 0.5) for times in (begun, done)]
    for k in np.argsort(half[0], kind="stable").tolist():
        if max(begins[k], ends[k]) < LEAST_CHANCE:
            continue
        place = ahead.places[k]
        # A level handed over at midnight is there on the day that begins: like a start, not like an end.
        at_once = place.what == HANDOVER
        dates = [_date(ahead, int(times[k]), begins=at_once or times is half[0]) for times in half]
        yield (
            place._replace(what=words(place.what)).said,
            *place,
            dates[0],
            None if (begun[:, k] < since).all() else float(begins[k]),
            dates[1],
            float(ends[k]),
        )


def _shares(minutes: Ints, since: int, until: int) -> Sequence[float]:
    """Share of the trials in which each comes in a span. [-]"""
    shares: Sequence[float] = ((minutes >= since) & (minutes <= until)).mean(axis=0).tolist()
    return shares


def _bookings(ahead: Ahead) -> Iterator[Row]:
    yield from _hours(ahead, ahead.booked, ahead.days, 1)


def _resources(ahead: Ahead) -> Iterator[Row]:
    yield from _hours(ahead, ahead.resources, ahead.days[WEEK_DAYS - 1 :: WEEK_DAYS], WEEK_DAYS)


def _hours(ahead: Ahead, names: Sequence[str], days: Sequence[date], span: int) -> Iterator[Row]:
    """Hours of some resources in spans of so many days."""
    busy = ahead.outcomes.values["busy"]
    summed = busy.reshape(*busy.shape[:2], -1, span).sum(axis=3)
    half, most = (ranked(summed, p) / HOUR_MIN for p in (0.5, 0.9))
    for name in names:
        k = ahead.resources.index(name)
        for number, day in enumerate(days):
            yield name, day, float(half[k, number]), float(most[k, number])
