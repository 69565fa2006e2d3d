"""The sheet as everybody gets it: a table with `done` left blank, to be filled in and read back."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from towerpace.answers.run_of import run_of
from towerpace.answers.said.answer import Answer
from towerpace.answers.said.kinds import Kind, On
from towerpace.answers.said.people import day as day_said
from towerpace.answers.said.tables import Chapter, Column, Fact, Row, Table
from towerpace.answers.site.open_fronts import LEAST_CHANCE, OpenFront, OpenFronts
from towerpace.record.words import How

BOX = "________"
PROGRESS = Table(
    "progress",
    "What is done at the end of the day",
    (
        Column("date", Kind.DATE, about="day at whose end the state is told", on=On.PROGRAMS),
        Column("what", Kind.NAME, about="trade, activity, handover, crates_up, trucks_in, mock_up or masts"),
        Column("level", Kind.COUNT, about="number of the level"),
        Column("zone", Kind.NAME, about="side or bay"),
        Column("done", Kind.TEXT, blank=BOX, about="to be filled in: units, a share as 60%, all, yes or no"),
        Column("of", Kind.TEXT, "of", about="units of the place, or what may be said of it"),
        Column("last", Kind.TEXT, "last told", about="what was reported last, and when"),
        Column(
            "chance", Kind.SHARE, about="share of the trials in which it is open that week", on=On.PROGRAMS
        ),
        Column("note", Kind.TEXT, blank=2 * BOX, about="whatever else there is to say"),
    ),
    about="a row a place that may be open in the week; the file is read back once `done` is filled in",
    groups=True,
)
SHEET_TABLES = (PROGRESS,)
_TO_SAY = {How.TRUTH: "yes or no", How.TRIES: "passed or failed", How.EVENT: "yes, no or over"}


def said(week: OpenFronts) -> Answer:
    """The sheet of a week."""
    rows = list(_rows(week))
    count = Fact(Column("fronts", Kind.COUNT, about="places that may be open in the week"), len(rows))
    return Answer(
        question="sheet",
        about="What the foreman is asked",
        run=run_of(
            week.ready.scenario, week.ready.tower, seed=week.seed, trials=week.trials, asked=week.asked
        ),
        said=_first(week, len(rows)),
        facts=[count],
        tables=(PROGRESS.filled(rows),),
        chapters=(
            Chapter("Who is asked", (_first(week, len(rows)),), on=On.TERMINAL),
            Chapter("What is done", (_HOW,) if rows else (), ("progress",)),
        ),
    )


_HOW = (
    "Write how much is done at the end of the day: units, a share as 60%, all, yes or no. It counts from the "
    "beginning. A front that is left blank stands as it was told last. A broken or rejected panel counts as "
    "done; add a row holes for its front, with how many holes there are now."
)


def _first(week: OpenFronts, rows: int) -> str:
    since, until = day_said(week.day - timedelta(6)), day_said(week.day)
    if not rows:
        return (
            f"Nobody is asked in the week from {since} to {until}: no front is open in it in "
            f"{100 * LEAST_CHANCE:.0f} % of the trials, and none is reported as begun."
        )
    return (
        f"{rows:,} fronts may be open in the week from {since} to {until}: each in at least "
        f"{100 * LEAST_CHANCE:.0f} % of the trials, or reported as begun."
    )


def _rows(week: OpenFronts) -> Iterator[Row]:
    names = list(dict.fromkeys(front.place.what for front in week.fronts))
    for front in sorted(week.fronts, key=lambda front: names.index(front.place.what)):
        what, level, zone = front.place
        last = ""
        if front.last is not None and front.last_day is not None:
            last = f"{front.last.said} on {day_said(front.last_day).partition(' ')[2]}"
        yield week.day, what, level, zone, None, _of(front), last, front.chance, None


def _of(front: OpenFront) -> str:
    if front.how is How.UNITS and front.total == 1:
        return "a share, or all"
    return _TO_SAY.get(front.how, f"{front.total:g}")
