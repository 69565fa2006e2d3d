"""The weeks ahead on one side of paper for the weekly meeting: two weeks by the day, then week by week."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date

from towerpace.answers.ahead.ahead import WEEK_DAYS, Ahead
from towerpace.answers.progress import ranked
from towerpace.answers.said.kinds import Kind, On
from towerpace.answers.said.people import day as day_said
from towerpace.answers.said.people import share, words
from towerpace.answers.said.tables import Chapter, Column, Row, Table, Value, interval
from towerpace.units import DAY_MIN, HOUR_MIN, Ints

BY_DAY = 2  # weeks that are told by the day
MOST_WEEKS = 6  # that follow
MOST_PROMISES, MOST_NEEDS, MOST_FRONTS = 14, 16, 10  # rows for which one side has room
LIKELY = 0.5  # fronts that are likelier to come than not are named
_PREFIX = "meeting"


def meeting(ahead: Ahead, tables: Sequence[Table], *, seen: str) -> tuple[list[Table], list[Chapter]]:
    """Tables and chapters of the sheet. tables : of the whole answer. seen : up to when, in a sentence."""
    whole = {table.name: table for table in tables}
    sheet = [
        (f"{_from(ahead)} by the day, then week by week", _days(ahead)),
        ("Needed by", _needed(whole["needed"])),
        (f"Promises: the chance that all are kept is {share(ahead.all_kept.value)}", _promises(whole)),
        ("Likely to begin in two weeks", _fronts(ahead, whole["fronts"], begin=True)),
        ("Likely to be done in two weeks", _fronts(ahead, whole["fronts"], begin=False)),
    ]
    named = [(title, table) for title, table in sheet if table.rows]
    chapters = [Chapter(title, shows=(table.name,), on=On.SHEET) for title, table in named]
    return [table for _, table in named], [Chapter("", (seen,), on=On.SHEET), *chapters]


def _from(ahead: Ahead) -> str:
    return f"From {day_said(ahead.days[0])}"


def _sheet(name: str, columns: Sequence[Column], rows: Sequence[Row], *, note: str = "") -> Table:
    on_sheet = tuple(replace(column, on=On.SHEET) for column in columns)
    return Table(f"{_PREFIX}_{name}", words(name).capitalize(), on_sheet, tuple(rows), note=note, on=On.SHEET)


def _days(ahead: Ahead) -> Table:
    """Panels, fronts and hours of hoists and bay on each day of two weeks, then in each week."""
    booked = ahead.booked
    columns = (
        Column("span", Kind.TEXT, "day"),
        Column("panels", Kind.COUNT, "panels, P50"),
        *interval("panels", Kind.COUNT, label="P10 to P90"),
        Column("begun", Kind.NUMBER, "fronts begun", digits=1),
        Column("done", Kind.NUMBER, "done", digits=1),
        *(
            column
            for name in booked
            for column in interval(name, Kind.HOURS, label=f"{words(name)} [h]", digits=0)
        ),
    )
    rows = [_span(ahead, first, last) for first, last in _spans(ahead)]
    # Days on which nothing is open say nothing.
    kept = [row for row in rows if any(row[1:])]
    return _sheet("days", columns, kept, note="Fronts: mean of the trials. Hours: P50 to P90.")


def _spans(ahead: Ahead) -> Iterator[tuple[int, int]]:
    """First and last day of every row, by their number from the data date on."""
    by_day = min(BY_DAY, ahead.weeks) * WEEK_DAYS
    yield from ((k, k) for k in range(by_day))
    weeks = range(by_day, len(ahead.days), WEEK_DAYS)
    yield from ((k, k + WEEK_DAYS - 1) for k in weeks[:MOST_WEEKS])


def _span(ahead: Ahead, first: int, last: int) -> Row:
    values, days = ahead.outcomes.values, ahead.days
    panels = values["panels"][:, first : last + 1].sum(axis=1)
    since, until = (ahead.state.past.until + k * DAY_MIN for k in (first, last + 1))
    low, half, high = (int(ranked(panels, p)) for p in (0.1, 0.5, 0.9))
    fronts = [_within(values[name], since, until) for name in ("begun", "done")]
    hours: list[Value] = []
    for name in ahead.booked:
        busy = values["busy"][:, ahead.resources.index(name), first : last + 1].sum(axis=1)
        hours += [float(ranked(busy, p)) / HOUR_MIN for p in (0.5, 0.9)]
    said = f"{'' if first == last else 'week to '}{_short(days[last])}"
    return (said, half, low, high, *fronts, *hours)


def _short(day: date) -> str:
    """A day without its year, which stands above the table."""
    return day_said(day).rsplit(" ", maxsplit=1)[0]


def _within(minutes: Ints, since: int, until: int) -> float:
    """Groups that come in a span, mean. [-]"""
    return float(((minutes > since) & (minutes <= until)).sum(axis=1).mean())


def _cut(table: Table, names: Sequence[str], rows: Sequence[Row], *, most: int) -> Table:
    """Some columns of some rows of a table, as many as one side has room for."""
    places = [next(k for k, c in enumerate(table.columns) if c.name == name) for name in names]
    columns = [table.columns[k] for k in places]
    more = len(rows) - most
    note = f"And {more} more, in {table.name}.csv." if more > 0 else ""
    return _sheet(table.name, columns, [tuple(row[k] for k in places) for row in rows[:most]], note=note)


def _needed(table: Table) -> Table:
    return _cut(table, ("needed", "needed_by", "p50"), table.rows, most=MOST_NEEDS)


def _promises(whole: Mapping[str, Table]) -> Table:
    if "promises" not in whole:
        return _sheet("promises", (), ())
    table = whole["promises"]
    by = [column.name for column in table.columns].index("by")
    rows = sorted(table.rows, key=lambda row: str(row[by]))
    names = ("promise", "promised", "by", "chance", "date_80", "waits_for", "who")
    return _cut(table, names, rows, most=MOST_PROMISES)


def _fronts(ahead: Ahead, table: Table, *, begin: bool) -> Table:
    """Fronts that come within two weeks in half of the trials, by that day."""
    name, chance = ("begins", "begun_chance") if begin else ("ends", "done_chance")
    place = {column.name: k for k, column in enumerate(table.columns)}
    last = ahead.days[min(BY_DAY, ahead.weeks) * WEEK_DAYS - 1]

    def comes(row: Row) -> bool:
        day, likely = row[place[name]], row[place[chance]]
        soon = isinstance(day, date) and day <= last
        return soon and isinstance(likely, float) and likely >= LIKELY

    rows = sorted(filter(comes, table.rows), key=lambda row: str(row[place[name]]))
    cut = _cut(table, ("place", name, chance), rows, most=MOST_FRONTS)
    return replace(cut, name=f"{_PREFIX}_{name}")
