"""The sheet of progress: what a foreman writes, a row a front and day; cumulative, and only ever added to."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from towerpace.faults import Fault
from towerpace.record.amounts import Amount, allowed_of, amount_of
from towerpace.record.moments import DATE_ALLOWED
from towerpace.record.places import PlaceReader, column_faults
from towerpace.record.words import HOLES, How, Place, Words
from towerpace.scenario.dates import before_start
from towerpace.scenario.tables import CsvTable, Row, cell_shown, day_in, read_table

COLUMNS = ("date", "what", "level", "zone", "done", "note")
# What a sheet that we hand out has beside: it may come back as it is.
HANDED_OUT = ("of", "last", "chance", "scenario_hash", "seed", "version")
_NEEDED, _OPTIONAL = COLUMNS[:5], (*COLUMNS[5:], *HANDED_OUT)


@dataclass(frozen=True, slots=True)
class Report:
    """One row of the sheet: the state of a place at the end of a day."""

    line: int
    day: dt.date
    place: Place
    amount: Amount
    note: str


@dataclass(frozen=True)
class Progress:
    """All reports of a sheet, by day and then as they stand in the file.

    file : as the user named it.
    """

    file: str
    reports: tuple[Report, ...]

    @property
    def days(self) -> tuple[dt.date, ...]:
        """Days on which something was reported, ascending."""
        return tuple(sorted({report.day for report in self.reports}))

    def until(self, day: dt.date) -> Progress:
        """The sheet as it stood at the end of a day."""
        return Progress(self.file, tuple(report for report in self.reports if report.day <= day))

    def latest(self) -> dict[Place, Report]:
        """The last report of every place: one without a row stands as last reported."""
        return {report.place: report for report in self.reports}


def read_progress(
    path: Path, *, words: Words, start: dt.date, shown_as: str | None = None
) -> tuple[Progress, list[Fault]]:
    """The reports of a sheet, and everything that is wrong with it.

    Parameters
    ----------
    path : Path
        A CSV file with the columns date, what, level, zone, done and, if wanted, note. Rows whose `done` is
        empty are passed over: a sheet is handed out with them.
    words : Words
        What may be reported.
    start : date
        First day of the scenario.
    """
    table = read_table(path, shown_as=shown_as or str(path))
    faults = list(table.faults) or column_faults(table, needed=_NEEDED, optional=_OPTIONAL)
    if faults:
        return Progress(table.file, ()), faults
    places = PlaceReader(words, table.file, faults)
    read = [_report(row, places=places, start=start) for row in table.rows if row.cells["done"]]
    reports = sorted((report for report in read if report is not None), key=lambda report: report.day)
    if not read:
        faults.append(
            Fault(table.file, None, "done", "missing: no row tells anything", "a row with done filled in")
        )
    faults += _twice(reports, table=table)
    faults += _falling(reports, words=words, table=table)
    return Progress(table.file, tuple(reports)), faults


def _report(row: Row, *, places: PlaceReader, start: dt.date) -> Report | None:
    cells, before = row.cells, len(places.faults)
    day = day_in(cells["date"])
    if day is None:
        places.faults.append(Fault(places.file, row.line, "date", cell_shown(cells["date"]), DATE_ALLOWED))
    elif day < start:
        places.faults.append(Fault(places.file, row.line, "date", str(day), before_start(start)))
    read = places.read(row)
    if read is None:
        return None
    word, place = read
    total = places.words.totals[place]
    amount = amount_of(cells["done"], word=word, total=total)
    if amount is None:
        allowed = f"{allowed_of(word, total=total)} for {place.said}"
        places.faults.append(Fault(places.file, row.line, "done", cell_shown(cells["done"]), allowed))
    if day is None or amount is None or len(places.faults) > before:
        return None
    return Report(row.line, day, place, amount, cells.get("note", ""))


def _twice(reports: Iterable[Report], *, table: CsvTable) -> list[Fault]:
    """Two words about one place on one day; the same word twice says nothing new."""
    first: dict[tuple[dt.date, Place], Report] = {}
    faults = []
    for report in reports:
        other = first.setdefault((report.day, report.place), report)
        if other.amount.said != report.amount.said:
            found = f"{report.amount.said} for {report.place.said} on {report.day}"
            allowed = f"one word a front and day: line {other.line} says {other.amount.said}"
            faults.append(Fault(table.file, report.line, "done", found, allowed))
    return faults


def _falling(reports: Iterable[Report], *, words: Words, table: CsvTable) -> list[Fault]:
    """Counts that fall, though they are counted from the beginning."""
    last: dict[Place, Report] = {}
    faults = []
    for report in reports:
        how = words.words[report.place.what].how
        if how in (How.NOW, How.EVENT):
            continue
        other = last.setdefault(report.place, report)
        if other.day < report.day and (other.amount.units, other.amount.whole) > _standing(
            report.amount, how
        ):
            found = (
                f"{report.amount.said} for {report.place.said}, line {other.line} said {other.amount.said}"
            )
            allowed = "at least what was reported before" + (
                f"; a broken panel goes under {HOLES}" if HOLES in words.words else ""
            )
            faults.append(Fault(table.file, report.line, "done", found, allowed))
        last[report.place] = report
    return faults


def _standing(amount: Amount, how: How) -> tuple[float, bool]:
    """An amount as compared with an earlier one: what passes need not say how many tries have failed."""
    return (float("inf"), True) if how is How.TRIES and amount.whole else (amount.units, amount.whole)
