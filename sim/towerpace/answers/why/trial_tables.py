"""The tables of one trial that is told: its chain link by link and in stretches, its fronts, its diary."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date, timedelta

import numpy as np

from towerpace.answers.said.kinds import Kind, On
from towerpace.answers.said.tables import Column, Row, Table
from towerpace.answers.why.site_diary import Day
from towerpace.answers.why.telling import Leg, Story, legs_of
from towerpace.answers.why.unfinished import Wait, first_few, in_words, roots
from towerpace.plan.site.tower import HANDOVER
from towerpace.units import DAY_MIN

Span = tuple[date, date]
WAITS_SHOWN = 4
_ENDS_SHOWN = 5  # days of the diary at either end
_TRIAL = Column("trial", Kind.COUNT, about="number of the trial, from 0", on=On.PROGRAMS)
_STRETCH = Column("stretch", Kind.COUNT, about="number of the stretch, from 0", on=On.PROGRAMS)
_TRADE = Column("trade", Kind.NAME, about="trade, or another row of the ledger", on=On.PROGRAMS)
_LEVEL = Column("level", Kind.COUNT, about="number of the level", on=On.PROGRAMS)
_ZONE = Column("zone", Kind.NAME, about="zone of the level", on=On.PROGRAMS)


def _minute(name: str, about: str) -> Column:
    return Column(name, Kind.MINUTES, about=f"{about}, from the scenario's first midnight", on=On.PROGRAMS)


_LEG_COLUMNS = (
    Column("name", Kind.TEXT, " ", about="the work, or what happens once"),
    Column("since", Kind.DATE, about="day on which what came before ends", on=On.PROGRAMS | On.PAGE),
    Column("finished", Kind.DATE, "until", about="day on which it ends"),
    Column(
        "working_days",
        Kind.DAYS,
        "working days",
        about="what lies inside the shift, in the trade's own",
        digits=1,
    ),
    Column(
        "closed_days", Kind.DAYS, "closed days", about="outside the shift: nights and closed days", digits=1
    ),
    Column("spent", Kind.TEXT, "on what, and what came free", about="causes, and what came free for it"),
)
_NOTE = "Closed days: with nights. On what: working days inside the shift, days of what runs day and night."
STRETCHES = Table(
    "stretches",
    "Its controlling chain",
    (
        _TRIAL,
        _STRETCH,
        _TRADE,
        _LEVEL,
        _ZONE,
        *_LEG_COLUMNS,
        _minute("since_min", "end of what came before"),
        _minute("finished_min", "end of its last link"),
        Column("pools", Kind.NAME, about="resources that came free for it", on=On.PROGRAMS),
    ),
    about="the chain of the trial, links of one front in a row as one",
    note=_NOTE,
)
LEGS = Table("legs", "Its controlling chain, by trades in a row", _LEG_COLUMNS, note=_NOTE, on=On.PEOPLE)
CHAIN = Table(
    "chain",
    "Its controlling chain, link by link",
    (
        _TRIAL,
        Column("link", Kind.COUNT, about="number of the link, from 0"),
        _STRETCH,
        Column("step", Kind.NAME, about="name of the step"),
        _TRADE,
        _LEVEL,
        _ZONE,
        _minute("since_min", "end of the link before"),
        _minute("started_min", "begin of the step"),
        _minute("finished_min", "its end"),
        Column("pool", Kind.NAME, about="resource over which the link before let it start"),
    ),
    about="every step of the chain; the end of one is where the time of the next begins",
    on=On.PROGRAMS,
)
CHAIN_CAUSES = Table(
    "chain_causes",
    "Minutes of every link",
    (
        _TRIAL,
        CHAIN.columns[1],
        Column("cause", Kind.NAME, about="what the time went into"),
        Column("minutes", Kind.MINUTES, about="minutes of it"),
    ),
    about="where the time of every link went; causes that took no minute are left out",
    on=On.PROGRAMS,
)
FRONTS = Table(
    "fronts",
    "Begin and end of every front",
    (_TRIAL, _TRADE, _LEVEL, _ZONE, _minute("begun_min", "its begin"), _minute("done_min", "its end")),
    about="begin and end of every front of every trade, and the handover of every level",
    on=On.PROGRAMS,
)
_SAID = Column("said", Kind.TEXT, "what happened", about="what happened, in words")
DIARY = Table(
    "diary",
    "Its site diary",
    (_TRIAL, Column("date", Kind.DATE, about="day"), _SAID),
    about="what a site manager would have written down, a row an entry",
    folded=True,
    groups=True,
    on=On.ALL & ~On.TERMINAL,
)
DIARY_DAYS = Table("diary_days", DIARY.title, (Column("date", Kind.DATE), _SAID), on=On.TERMINAL)
TRIAL_WAITS = Table(
    "trial_waits",
    "What the first of its unfinished steps wait for",
    (_TRIAL, Column("waits_for", Kind.TEXT, " ", about="what one of them waits for")),
    about="what the trial waits for at the horizon, if it does not finish",
)
TRIAL_TABLES = (STRETCHES, CHAIN, CHAIN_CAUSES, FRONTS, DIARY, TRIAL_WAITS)


def trial_tables(story: Story, days: Span | None) -> tuple[Table, ...]:
    """The tables of `TRIAL_TABLES`, and what people read in the place of a long one.

    days : first and last of the diary that a terminal shows; its first and last few if left out.
    """
    long = story.is_long
    shown = On.ALL & ~On.TERMINAL if long else On.ALL
    return (
        replace(STRETCHES, on=shown, folded=long).filled(_stretches(story)),
        CHAIN.filled(_chain(story)),
        CHAIN_CAUSES.filled(_chain_causes(story)),
        FRONTS.filled(_fronts(story)),
        DIARY.filled(_diary(story)),
        TRIAL_WAITS.filled(_waits(story)),
        LEGS.filled(_of_leg(leg, story) for leg in legs_of(story, by_trade=True) if long),
        _days(story, days),
    )


def waits_of(story: Story) -> list[Wait]:
    """What the unfinished steps of the trial wait for; none if it finished."""
    played = story.played
    return roots(played.diary, played.draw) if played.diary.finish is None else []


def _stretches(story: Story) -> Iterator[Row]:
    both = zip(story.told.stretches, legs_of(story, by_trade=False), strict=True)
    for k, (stretch, leg) in enumerate(both):
        tags = stretch.tags
        head = story.played.trial, k, tags.trade, tags.level, tags.zone
        yield *head, *_of_leg(leg, story), leg.since, leg.finished, ", ".join(stretch.pools)


def _of_leg(leg: Leg, story: Story) -> Row:
    first = story.start + timedelta(days=leg.since // DAY_MIN)
    last = max(first, story.played.ready.days.date_of(leg.finished))
    return leg.name, first, last, leg.working_days, leg.closed_days, leg.spent


def _chain(story: Story) -> Iterator[Row]:
    plan, trial = story.played.ready.tower.plan, story.played.trial
    stretch_of = [k for k, stretch in enumerate(story.told.stretches) for _ in stretch.links]
    for k, link in enumerate(story.told.links):
        tags = plan.tags(link.step)
        pool = "" if link.pool < 0 else plan.pools.names[link.pool]
        times = (link.since, link.started, link.finished)
        name = plan.names[link.step]
        yield trial, k, stretch_of[k], name, tags.trade, tags.level, tags.zone, *times, pool


def _chain_causes(story: Story) -> Iterator[Row]:
    told = story.told
    for link, cause in np.argwhere(told.minutes.T > 0).tolist():
        yield story.played.trial, link, told.causes[cause], int(told.minutes[cause, link])


def _fronts(story: Story) -> Iterator[Row]:
    """Begin and end of every front of every trade, and the handover of every level; blank where none came."""
    tower, diary, trial = story.played.ready.tower, story.played.diary, story.played.trial
    for level, step in zip(tower.levels, tower.handover.tolist(), strict=True):
        at = _known(diary.finished[step])
        yield trial, HANDOVER, level, "", at, at
    for trade, first, last in zip(tower.trades, tower.first, tower.last, strict=True):
        for front, begin, end in zip(tower.fronts, first.tolist(), last.tolist(), strict=True):
            begun, done = _known(diary.started[begin]), _known(diary.finished[end])
            yield trial, trade, front.level, front.zone, begun, done


def _known(minute: np.int32) -> int | None:
    return int(minute) if minute >= 0 else None


def _diary(story: Story) -> Iterator[Row]:
    for day in story.diary:
        for words in day.said:
            yield story.played.trial, day.on(story.start), words


def _days(story: Story, days: Span | None) -> Table:
    """The days that are asked for, or the first and last few."""
    if days is not None:
        inside = [day for day in story.diary if days[0] <= day.on(story.start) <= days[1]]
        return DIARY_DAYS.filled(_pages(inside, story))
    between = len(story.diary) - 2 * _ENDS_SHOWN
    if between <= 1:
        return DIARY_DAYS.filled(_pages(story.diary, story))
    ends = [*story.diary[:_ENDS_SHOWN], *story.diary[-_ENDS_SHOWN:]]
    note = f"{between} days between are left out: --days FROM..TO, or the whole diary with --out FOLDER."
    return DIARY_DAYS.filled(_pages(ends, story), note=note)


def _pages(days: Sequence[Day], story: Story) -> Iterator[Row]:
    for day in days:
        yield day.on(story.start), "; ".join(day.said)


def _waits(story: Story) -> Iterator[Row]:
    for wait in first_few(waits_of(story), WAITS_SHOWN):
        yield story.played.trial, in_words(wait, story.played.ready.tower.plan)
