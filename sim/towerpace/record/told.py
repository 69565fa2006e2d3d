"""What the words of a site say of single steps: done, begun or not, by when, in which line.

Rows speak of places. A place has its steps in the order in which they are done (coats of a front, panels as
they are set, crates as they go up), so that an amount is a number of steps from the first on, and a share of
the next one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from enum import IntEnum

from towerpace.plan.lists import ALWAYS
from towerpace.plan.model import Plan
from towerpace.plan.site.tower import Tower
from towerpace.record.log import BROKEN, LEFT_OUT, REJECTED, Entry
from towerpace.record.moments import Moment, end_of
from towerpace.record.places_steps import steps_of
from towerpace.record.progress import Report
from towerpace.record.site_record import SiteRecord
from towerpace.record.step_index import StepIndex
from towerpace.record.words import HANDOVER, How

NEVER = 2**62
_ALMOST = 1e-9  # what rounding leaves of a share


class State(IntEnum):
    """What is known of a step; a higher word beats a lower one."""

    SILENT = 0
    UNDONE = 1
    BEGUN = 2
    DONE = 3


@dataclass(frozen=True, slots=True)
class Source:
    """The row that says something: its file and line."""

    file: str
    line: int

    @property
    def said(self) -> str:
        """As people read it."""
        return f"{self.file} line {self.line}"


@dataclass
class Told:
    """What is said of the n steps of a plan, directly.

    state, source : of every step; None where nothing is said.
    begun_by, ended_by : (n,) end of the first day on which it is reported begun or done. [min]
    begun_at, ended_at : exact minutes from the log. [min]
    share : done share of steps in progress, where it is told. [-]
    yields : steps that are over as soon as something that follows them is reported.
    instant : steps of the past without any length.
    """

    state: list[int]
    source: list[Source | None]
    begun_by: list[int]
    ended_by: list[int]
    begun_at: dict[int, int] = field(default_factory=dict)
    ended_at: dict[int, int] = field(default_factory=dict)
    share: dict[int, float] = field(default_factory=dict)
    yields: set[int] = field(default_factory=set)
    instant: set[int] = field(default_factory=set)

    @classmethod
    def nothing(cls, n: int) -> Told:
        """Of so many steps nothing is said."""
        return cls([State.SILENT] * n, [None] * n, [NEVER] * n, [NEVER] * n)

    def say(self, step: int, state: State, source: Source, *, by: int) -> None:
        """A word about a step. by : when the word was said. [min]"""
        # Of several rows that call a step done the first is named, else the last word that was said of it.
        if state > self.state[step] or (state == self.state[step] and state < State.DONE):
            self.state[step], self.source[step] = state, source
        if state >= State.BEGUN:
            self.begun_by[step] = min(self.begun_by[step], by)
        if state == State.DONE:
            self.ended_by[step] = min(self.ended_by[step], by)
            self.share.pop(step, None)


def told_by(record: SiteRecord, tower: Tower, index: StepIndex) -> Told:
    """What a record says of the steps of a plan, directly."""
    told, words = Told.nothing(tower.plan.n), record.words.words
    places = {report.place for report in record.progress.reports} | {e.place for e in record.log.entries}
    counted = {place for place in places if words[place.what].how in (How.UNITS, How.WHOLE, How.TRUTH)}
    steps = {place: found for place in counted if (found := steps_of(place, tower, index))}
    for report in record.progress.reports:
        if report.place in steps:
            _say_amount(told, report, record, steps[report.place])
    for entry, panels in record.log.first_visits():
        if entry.place in steps:
            own = [steps[entry.place][panel - 1] for panel in panels] or steps[entry.place]
            _EntryOf(entry, record, tower.plan, told).say(own)
    return told


def _say_amount(told: Told, report: Report, record: SiteRecord, steps: Sequence[int]) -> None:
    """So many steps of a place are done, and a share of the next one."""
    total = record.words.totals[report.place]
    position = len(steps) if report.amount.whole else report.amount.units / total * len(steps)
    done = int(position + _ALMOST)
    source, by = Source(record.progress.file, report.line), end_of(report.day, start=record.start)
    for step in steps[:done]:
        if told.state[step] != State.DONE:
            told.say(step, State.DONE, source, by=by)
    for number, step in enumerate(steps[done:]):
        running = number == 0 and position - done > _ALMOST
        told.say(step, State.BEGUN if running else State.UNDONE, source, by=by)
        if running and told.state[step] == State.BEGUN:
            told.share[step] = position - done


@dataclass(frozen=True)
class _EntryOf:
    """One entry of the log, to be said of its steps."""

    entry: Entry
    record: SiteRecord
    plan: Plan
    told: Told

    def say(self, own: list[int]) -> None:
        """Say it of the steps that it is about."""
        entry, source = self.entry, Source(self.record.log.file, self.entry.line)
        if entry.outcome == LEFT_OUT:
            for step in own:
                self.told.state[step], self.told.source[step] = State.UNDONE, source
            return
        last = len(own) if entry.finish is not None or entry.place.what == HANDOVER else 0
        by = entry.start.latest if entry.finish is None else entry.finish.latest
        for step in own[:last]:
            self.told.say(step, State.DONE, source, by=by)
            self.told.source[step] = source  # it says more than the sheet
        if not last and own:
            self.told.say(own[0], State.BEGUN, source, by=by)
        self._say_times(own)

    def _say_times(self, own: list[int]) -> None:
        """The times of a row: shared evenly among panels, else from the first step to the last."""
        begun = self._minute(self.entry.start, own[0], first=True)
        ended = None if self.entry.finish is None else self._minute(self.entry.finish, own[-1], first=False)
        if not self.entry.panels or ended is None:
            self.told.begun_at[own[0]] = begun
            if ended is not None:
                self.told.ended_at[own[-1]] = max(begun, ended)
            return
        edges = [begun + (ended - begun) * k // len(own) for k in range(len(own) + 1)]
        for step, since, until in zip(own, edges[:-1], edges[1:], strict=True):
            self.told.begun_at[step], self.told.ended_at[step] = since, until

    def _minute(self, moment: Moment, step: int, *, first: bool) -> int:
        """A moment; of a day alone the first or last minute on which its window has a shift. [min]"""
        if moment.exact:
            return min(moment.minute, self.record.until)
        window = self.plan.window[step]
        if window >= 0 and self.plan.mode[step] != ALWAYS:
            for since, until in _within(self.plan, int(window), moment)[:: 1 if first else -1]:
                return since if first else until
        return moment.minute if first else min(moment.latest, self.record.until)


def _within(plan: Plan, window: int, moment: Moment) -> list[tuple[int, int]]:
    """Shifts of a window inside a day. [min]"""
    shifts = plan.windows[window].shifts
    return [
        (max(int(a), moment.minute), min(int(b), moment.latest))
        for a, b in shifts
        if a < moment.latest and b > moment.minute
    ]


def is_lost(entry: Entry) -> bool:
    """Whether an entry tells that its panels need a new one."""
    return entry.outcome in (BROKEN, REJECTED)
