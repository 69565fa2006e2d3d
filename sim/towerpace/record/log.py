"""The log: when a front, a panel or a range of panels was begun and finished, by whom, and how it went."""

from __future__ import annotations

import datetime as dt
import re
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from towerpace.faults import Fault, nearest_word
from towerpace.record.moments import MOMENT_ALLOWED, Moment, clock_doubt, moment_of, shown_minute
from towerpace.record.places import PlaceReader, column_faults
from towerpace.record.words import By, How, Place, Word, Words
from towerpace.scenario.tables import Row, cell_shown, read_table
from towerpace.units import DAY_MIN

COLUMNS = ("what", "level", "zone", "panel", "start", "finish", "unit", "outcome", "note")
_NEEDED, _OPTIONAL = COLUMNS[:6], COLUMNS[6:]
SET, BROKEN, REJECTED, MISFIT, LEFT_OUT = "set", "broken", "rejected", "misfit", "left out"
OUTCOMES = (SET, BROKEN, REJECTED, MISFIT, LEFT_OUT)
_RANGE = re.compile(r"(\d{1,6})(?:\s*-\s*(\d{1,6}))?")


@dataclass(frozen=True, slots=True)
class Entry:
    """One row of the log.

    panels : numbers of the panels of the front that it is about, from 1 in the order in which they are set;
    empty where it is about the whole front. finish : None while the work goes on. unit : who did it.
    """

    line: int
    place: Place
    panels: range
    start: Moment
    finish: Moment | None
    unit: str
    outcome: str
    note: str

    @property
    def said(self) -> str:
        """What it is about, as people say it."""
        if not self.panels:
            return self.place.said
        last = "" if len(self.panels) == 1 else f"-{self.panels[-1]}"
        return f"{self.place.said} panel {self.panels[0]}{last}"


@dataclass(frozen=True, slots=True)
class Remark:
    """Something that is let through, but must be told. lines : of the file, the later first."""

    file: str
    lines: tuple[int, ...]
    text: str

    @property
    def said(self) -> str:
        """As people read it."""
        where = "" if not self.lines else (" line " if len(self.lines) == 1 else " lines ")
        return f"{self.file}{where}{' and '.join(map(str, self.lines))}: {self.text}"


@dataclass(frozen=True)
class Log:
    """All entries, as they stand in the file. remarks : what is doubtful about them."""

    file: str
    entries: tuple[Entry, ...] = ()
    remarks: tuple[Remark, ...] = ()

    def first_visits(self) -> Iterator[tuple[Entry, tuple[int, ...]]]:
        """Entries in the order of their start, with the panels that they are about for the first time.

        A panel that was rejected or broken before comes again on a return visit, which is another job.
        Entries that are about such panels alone are left out.
        """
        lost: dict[Place, set[int]] = defaultdict(set)
        for entry in sorted(self.entries, key=lambda entry: entry.start.minute):
            panels = tuple(panel for panel in entry.panels if panel not in lost[entry.place])
            if panels or not entry.panels:
                yield entry, panels
            if entry.outcome in (BROKEN, REJECTED):
                lost[entry.place].update(entry.panels)

    def last_day(self, start: dt.date) -> dt.date:
        """The last day on which something was begun or finished; `start` of an empty log.

        start : first day of the scenario.
        """
        moments = (m for entry in self.entries for m in (entry.start, entry.finish) if m is not None)
        return max((start + dt.timedelta((m.latest - 1) // DAY_MIN) for m in moments), default=start)

    def until(self, minute: int) -> Log:
        """The log as it stood at a minute: what was begun by then, finished only if it was by then."""
        begun = [entry for entry in self.entries if entry.start.minute < minute]
        stood = [
            entry if entry.finish is None or entry.finish.minute < minute else replace(entry, finish=None)
            for entry in begun
        ]
        lines = {entry.line for entry in begun}
        remarks = tuple(remark for remark in self.remarks if lines.issuperset(remark.lines))
        return Log(self.file, tuple(stood), remarks)


@dataclass(frozen=True)
class LogReader:
    """Reads the rows of a log.

    start : first day of the scenario. until : first minute after the data date. zone : of the site's clock.
    """

    words: Words
    start: dt.date
    until: int
    zone: str | None

    def read(self, path: Path, *, shown_as: str | None = None) -> tuple[Log, list[Fault]]:
        """The entries of a file, and everything that is wrong with them."""
        table = read_table(path, shown_as=shown_as or str(path))
        faults = list(table.faults) or column_faults(table, needed=_NEEDED, optional=_OPTIONAL)
        if faults:
            return Log(table.file), faults
        places, remarks = PlaceReader(self.words, table.file, faults), list[Remark]()
        entries = [entry for row in table.rows if (entry := self._entry(row, places, remarks)) is not None]
        remarks += _two_places(entries, file=table.file, start=self.start)
        return Log(table.file, tuple(entries), tuple(remarks)), faults

    def _entry(self, row: Row, places: PlaceReader, remarks: list[Remark]) -> Entry | None:
        cells, before = row.cells, len(places.faults)
        read = places.read(row)
        start, finish = self._moment(row, "start", places), self._moment(row, "finish", places)
        outcome = self._outcome(row, places)
        if read is None or start is None:
            return None
        panels = self._panels(row, *read, places=places)
        self._check_order(row, start, finish, places)
        if len(places.faults) > before:
            return None
        remarks += [
            Remark(places.file, (row.line,), f"{column} {cells[column]}: {doubt}")
            for column in ("start", "finish")
            if (doubt := clock_doubt(cells[column], zone=self.zone))
        ]
        more = (cells.get("unit", ""), outcome, cells.get("note", ""))
        return Entry(row.line, read[1], panels, start, finish, *more)

    def _moment(self, row: Row, column: str, places: PlaceReader) -> Moment | None:
        cell = row.cells[column]
        if not cell and column == "finish":
            return None
        moment = moment_of(cell, start=self.start)
        if moment is None:
            places.faults.append(Fault(places.file, row.line, column, cell_shown(cell), MOMENT_ALLOWED))
        elif moment.minute < 0:
            allowed = f"a moment on or after tower.start, which is {self.start}"
            places.faults.append(Fault(places.file, row.line, column, cell, allowed))
        elif moment.minute >= self.until and not (moment.exact and moment.minute == self.until):
            last = shown_minute(self.until, start=self.start)
            allowed = f"a moment before the data date ends, {last}"
            places.faults.append(Fault(places.file, row.line, column, cell, allowed))
        return moment

    def _outcome(self, row: Row, places: PlaceReader) -> str:
        outcome = row.cells.get("outcome", "")
        if outcome and outcome not in OUTCOMES:
            allowed, nearest = f"{', '.join(OUTCOMES)}, or an empty cell", nearest_word(outcome, OUTCOMES)
            places.faults.append(
                Fault(places.file, row.line, "outcome", cell_shown(outcome), allowed, nearest)
            )
        return outcome

    def _panels(self, row: Row, word: Word, place: Place, *, places: PlaceReader) -> range:
        """Panels of the row; of a trade of gangs there are none."""
        cell = row.cells["panel"]
        if not cell:
            return range(0)
        match, total = _RANGE.fullmatch(cell), int(places.words.totals[place])
        if word.by is By.FRONT and word.how is How.WHOLE and match is not None:
            first, last = int(match[1]), int(match[2] or match[1])
            if 1 <= first <= last <= total:
                return range(first, last + 1)
        allowed = f"a panel or a range as 3-5, from 1 to {total}"
        if word.how is not How.WHOLE:
            allowed = f"an empty cell, as {word.name} has no panels"
        places.faults.append(Fault(places.file, row.line, "panel", cell_shown(cell), allowed))
        return range(0)

    def _check_order(self, row: Row, start: Moment, finish: Moment | None, places: PlaceReader) -> None:
        if finish is not None and finish.latest < start.minute + (not finish.exact):
            allowed = f"a moment after the start, {row.cells['start']}"
            places.faults.append(Fault(places.file, row.line, "finish", row.cells["finish"], allowed))


def _two_places(entries: list[Entry], *, file: str, start: dt.date) -> list[Remark]:
    """Units that were at two places in one minute; only exact times can tell."""
    remarks = []
    last: dict[str, Entry] = {}
    exact = [e for e in entries if e.unit and e.start.exact and e.finish is not None and e.finish.exact]
    for entry in sorted(exact, key=lambda entry: entry.start.minute):
        other = last.setdefault(entry.unit, entry)
        assert other.finish is not None, "only finished work is looked at"
        assert entry.finish is not None, "only finished work is looked at"
        if other is not entry and other.finish.minute > entry.start.minute and other.place != entry.place:
            at = shown_minute(entry.start.minute, start=start)
            text = f"{entry.unit} is at {other.said} and {entry.said} at {at}; the times are kept"
            remarks.append(Remark(file, (entry.line, other.line), text))
        if entry.finish.minute >= other.finish.minute:
            last[entry.unit] = entry
    return remarks
