"""What chance has decided already: panels lost or whole, risks befallen or excluded, tries of the mock-up."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import Enum

from towerpace.plan.model import Plan
from towerpace.plan.site.tower import Tower
from towerpace.record.amounts import OVER
from towerpace.record.log import BROKEN, REJECTED, SET, Entry, Remark
from towerpace.record.moments import end_of
from towerpace.record.places_steps import steps_of
from towerpace.record.progress import Report
from towerpace.record.remedies import Remedy, likelier_unfit, likeliest_lost, remedy_of
from towerpace.record.site_record import SiteRecord
from towerpace.record.step_index import StepIndex
from towerpace.record.told import Source, State, Told, is_lost
from towerpace.record.words import HOLES, REMAKE, RISK, By, How, Place
from towerpace.scenario.once import MOCK_UP


class Fate(Enum):
    """What is known of a risk that is no longer open."""

    BEFALLEN = "befallen"
    EXCLUDED = "excluded"


@dataclass(frozen=True, slots=True)
class Loss:
    """A panel that was lost: the lift that set it first, and how it was lost.

    unfit : whether it was found bad before it was set. found : minute by which it was found lost. [min]
    ordered : minute by which its remake was ordered; None if it is not. [min]
    set_again : whether a new one is in its place.
    known : whether it is known which steps followed it; not where the new panel came on a visit for several.
    after_set : whether the log calls it set before it broke: others broke it.
    """

    lift: int
    unfit: bool
    found: int
    ordered: int | None
    set_again: bool
    known: bool = True
    after_set: bool = False


@dataclass(frozen=True)
class Outcomes:
    """What is known of the chances of a site.

    losses : panels lost; every other panel that is set is neither rejected nor broken.
    risks : by name; a risk that is not named is open. failed, passed : tries of the mock-up that failed, and
    whether it has passed. remade_later : first steps of remakes that are not ordered yet.
    """

    losses: tuple[Loss, ...]
    risks: Mapping[str, Fate]
    failed: int
    passed: bool
    remade_later: tuple[int, ...] = ()


def outcomes_of(
    record: SiteRecord, tower: Tower, index: StepIndex, told: Told, *, remarks: list[Remark]
) -> Outcomes:
    """What chance has decided, said of the steps of its remedies as well. remarks : to be added to."""
    failed, passed = _say_tries(record, tower, index, told)
    risks = _say_risks(record, tower, index, told)
    losses, later = _Losses(record, tower, index, told, remarks).say()
    return Outcomes(tuple(losses), risks, failed, passed, tuple(later))


def _say_tries(record: SiteRecord, tower: Tower, index: StepIndex, told: Told) -> tuple[int, bool]:
    """Tries of the mock-up: each that failed is followed by a repair, which begins the day it is told."""
    reports = [report for report in record.progress.reports if report.place.what == MOCK_UP]
    if not reports:
        return 0, False
    # A try, then repairs and tries in turn, and last the step at which the mock-up is done.
    steps = sorted(steps_of(Place(MOCK_UP), tower, index))
    failed = int(max(report.amount.units for report in reports))
    passed = any(report.amount.whole for report in reports)
    for report in reports:
        source, by = Source(record.progress.file, report.line), end_of(report.day, start=record.start)
        tries = failed if report.amount.whole else int(report.amount.units)
        over = [*steps[: 2 * tries + 1], steps[-1]] if report.amount.whole else steps[: max(2 * tries - 1, 0)]
        for step in over:
            told.say(step, State.DONE, source, by=by)
        if not report.amount.whole:
            told.say(steps[-1], State.UNDONE, source, by=by)
            told.say(steps[len(over)], State.BEGUN, source, by=by)
    return failed, passed


def _say_risks(record: SiteRecord, tower: Tower, index: StepIndex, told: Told) -> dict[str, Fate]:
    fates = {}
    for report in record.progress.reports:
        if record.words.words[report.place.what].how is not How.EVENT:
            continue
        name, said = report.place.what.removeprefix(f"{RISK} "), report.amount.said
        fates[name] = Fate.EXCLUDED if said == "no" else Fate.BEFALLEN
        source, by = Source(record.progress.file, report.line), end_of(report.day, start=record.start)
        for step in steps_of(report.place, tower, index) if fates[name] is Fate.BEFALLEN else ():
            told.say(step, State.DONE if said == OVER else State.BEGUN, source, by=by)
            told.yields.add(step)
    return fates


@dataclass(frozen=True, slots=True)
class _Found:
    """A panel found lost: its lift, by whom it was told and when, whether before or long after it was set."""

    lift: int
    source: Source
    minute: int
    unfit: bool
    after_set: bool = False


@dataclass
class _Losses:
    record: SiteRecord
    tower: Tower
    index: StepIndex
    told: Told
    remarks: list[Remark]

    def say(self) -> tuple[list[Loss], list[int]]:
        """Losses of all fronts, and the first steps of remakes that are not ordered."""
        losses, later = [], list[int]()
        for place in self._fronts():
            holes, remakes = self._rows(HOLES, place), self._rows(REMAKE, place)
            rows = sorted([*holes, *remakes], key=lambda report: report.day)
            lost = self._lost(place, rows)
            again = self._set_again(place, lost, holes)
            for number, found in enumerate(lost):
                ordered = self._ordered(found, number, remakes)
                remedy = remedy_of(self.tower, found.lift, unfit=found.unfit)
                known = number not in again or (remedy is not None and bool(remedy.others))
                how = (found.unfit, found.minute, ordered, number in again, known, found.after_set)
                losses.append(Loss(found.lift, *how))
                if remedy is None:
                    self.remarks.append(self._not_in_plan(found))
                elif number not in again:
                    later += self._say_remedy(remedy, found, ordered)
                elif known:
                    self._say_over(remedy, *again[number])
        return losses, later

    def _fronts(self) -> list[Place]:
        """Fronts of panels that have lost any."""
        sheet = [
            r.place
            for r in self.record.progress.reports
            if r.place.what in (HOLES, REMAKE) and r.amount.units
        ]
        fronts = [entry.place for entry in self.record.log.entries if is_lost(entry) and entry.panels]
        for place in sheet:
            trades = [p.what for p in self._panel_places(place) if p not in fronts]
            fronts += [Place(trade, place.level, place.zone) for trade in trades[:1]]
        return list(dict.fromkeys(fronts))

    def _panel_places(self, place: Place) -> list[Place]:
        words = self.record.words
        trades = [w.name for w in words.words.values() if w.how is How.WHOLE and w.by is By.FRONT]
        lifts = [Place(trade, place.level, place.zone) for trade in trades if trade in self.tower.trades]
        return [front for front in lifts if front in words.totals]

    def _rows(self, what: str, place: Place) -> list[Report]:
        at = Place(what, place.level, place.zone)
        return [report for report in self.record.progress.reports if report.place == at]

    def _lost(self, place: Place, rows: list[Report]) -> list[_Found]:
        """Panels of a front that were lost: those of the log, then as many more as the sheet tells.

        rows : of the sheet about holes and remakes, by day. It does not say which panels were lost, and how:
        the last of the family, and in the way, that the scenario calls likelier. Where the log calls all of
        them set, others broke one of those.
        """
        lifts = steps_of(place, self.tower, self.index)
        lost = [found for entry in self._entries(place) for found in self._of_entry(entry, lifts)]
        named = {found.lift for found in lost}
        logged_set = {
            lifts[p - 1]
            for e in self._entries(place)
            if e.outcome == SET
            for p in e.panels
            if p <= len(lifts)
        }
        over = [s for s in lifts if self.told.state[s] == State.DONE and s not in named | logged_set]
        were_set = [s for s in lifts if s in logged_set - named]
        most = int(max((report.amount.units for report in rows), default=0))
        for number in range(len(lost), most):
            row = next(report for report in rows if report.amount.units > number)
            if among := over or were_set:
                lift, source = likeliest_lost(self.tower, among), Source(self.record.progress.file, row.line)
                after_set = among is were_set
                minute = end_of(row.day, start=self.record.start)
                unfit = not after_set and likelier_unfit(self.tower, lift)
                among.remove(lift)
                lost.append(_Found(lift, source, minute, unfit, after_set))
        return lost

    def _entries(self, place: Place) -> list[Entry]:
        return [e for e in self.record.log.entries if e.place == place and e.panels]

    def _of_entry(self, entry: Entry, lifts: list[int]) -> Iterator[_Found]:
        if entry.outcome in (BROKEN, REJECTED):
            until = entry.start.latest if entry.finish is None else entry.finish.latest
            source = Source(self.record.log.file, entry.line)
            minute, unfit = min(until, self.record.until), entry.outcome == REJECTED
            for panel in entry.panels:
                if panel <= len(lifts):
                    yield _Found(lifts[panel - 1], source, minute, unfit, self._was_set(entry, panel))

    def _was_set(self, entry: Entry, panel: int) -> bool:
        """Whether the log calls a panel set before an entry says what became of it."""
        return any(
            e.outcome == SET
            and panel in e.panels
            and e.finish is not None
            and e.finish.minute <= entry.start.minute
            for e in self._entries(entry.place)
        )

    def _set_again(
        self, place: Place, lost: list[_Found], holes: list[Report]
    ) -> dict[int, tuple[Source, int]]:
        """Which of the lost panels have a new one, by whom it is told and when."""
        lifts, again = steps_of(place, self.tower, self.index), dict[int, tuple[Source, int]]()
        for number, found in enumerate(lost):
            for entry in self._entries(place):
                panels = {lifts[p - 1] for p in entry.panels if p <= len(lifts)}
                later = entry.start.minute >= found.minute or entry.line > found.source.line
                if entry.outcome == SET and entry.finish is not None and found.lift in panels and later:
                    again[number] = Source(self.record.log.file, entry.line), entry.finish.latest
        if holes:
            source = Source(self.record.progress.file, holes[-1].line)
            closed = len(lost) - int(holes[-1].amount.units)
            for number in [n for n in range(len(lost)) if n not in again][: max(closed - len(again), 0)]:
                again[number] = source, end_of(holes[-1].day, start=self.record.start)
        return again

    def _ordered(self, found: _Found, number: int, remakes: list[Report]) -> int | None:
        """When the remake was ordered; without a word of orders on the day of the loss. [min]"""
        row = next((report for report in remakes if report.amount.units > number), None)
        if row is not None:
            return max(found.minute, end_of(row.day, start=self.record.start))
        return None if remakes else found.minute

    def _say_remedy(self, remedy: Remedy, found: _Found, ordered: int | None) -> tuple[int, ...]:
        """Say where a remake stands; its first steps, if it is not ordered and nothing else holds them."""
        if ordered is None:
            return remedy.leads
        if len(remedy.leads) == 1:
            self.told.say(remedy.leads[0], State.BEGUN, found.source, by=ordered)
            for step in remedy.others:
                self.told.say(step, State.UNDONE, found.source, by=ordered)
        return ()

    def _say_over(self, remedy: Remedy, source: Source, by: int) -> None:
        """Say that a new panel is in place: all that led to it is over, and so is its lift."""
        for step in (*remedy.leads, *remedy.others):
            self.told.say(step, State.DONE, source, by=by)

    def _not_in_plan(self, found: _Found) -> Remark:
        text = (
            f"a panel of {said_of(self.tower.plan, found.lift)} is lost, of which the scenario gives no "
            "chance: its remake is not in the plan"
        )
        return Remark(found.source.file, (found.source.line,), text)


def said_of(plan: Plan, step: int) -> str:
    """The front of a step, as people say it."""
    tags = plan.tags(step)
    return f"{tags.trade} L{tags.level} {tags.zone}"
