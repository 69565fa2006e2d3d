"""The event log of trials: a row for every step that came due, with its times, units and cause of waiting."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from towerpace.answers.events.held import holds_of
from towerpace.answers.ledger.book import LedgerNames
from towerpace.answers.ledger.waits import SHIFT, Minutes, Timekeeper
from towerpace.answers.prepare import Prepared
from towerpace.draws import Draw
from towerpace.engine.diary import NEVER, Diary
from towerpace.engine.fastest import run
from towerpace.engine.served import served
from towerpace.units import Ints

COLUMNS = {
    "trial": "number of the trial, from 0",
    "step": "name of the step",
    "trade": "trade, or another row of the ledger; empty for what belongs to none",
    "level": "number of the level; empty for what belongs to none",
    "zone": "zone of the level; empty for what belongs to none",
    "kind": "what kind of step it is",
    "ready": "when its predecessors were done and its date had come, on the clock of the site",
    "started": "when it began; empty if it never did",
    "finished": "when it ended; empty if it never did",
    "after": "step whose end, or whose giving back of units, let it start; empty for a date",
    "units": "units that served it, its own and those that its visit keeps, each with its number from 1",
    "wait_min": "minutes from ready to started, or to the horizon",
    "cause": "what most of these minutes went into; outside the shift only if nothing else",
    "causes": "all causes of these minutes, the longest first, each with its minutes",
}


@dataclass(frozen=True)
class Event:
    """What happened to one step of one trial; fields as in `COLUMNS`."""

    trial: int
    step: str
    trade: str
    level: int | None
    zone: str
    kind: str
    ready: datetime
    started: datetime | None
    finished: datetime | None
    after: str
    units: str
    wait_min: int
    cause: str
    causes: str


class EventLog:
    """Plays trials of a prepared scenario and tells what happened in them, trial by trial.

    Notes
    -----
    Steps that a trial leaves out, as a remake of a panel that is whole, are no events. Causes are those of
    the ledger; the time before a step is ready belongs to its predecessors.
    """

    def __init__(self, ready: Prepared, *, seed: int) -> None:
        self._ready, self._seed, self._plan = ready, seed, ready.tower.plan
        self._holds = holds_of(self._plan)
        self._keeper = Timekeeper(self._plan, LedgerNames(ready.tower).labels)
        self._resources = set(ready.scenario.settings.resource)
        self._midnight = datetime.combine(ready.tower.start, datetime.min.time())

    def of(self, trial: int) -> list[Event]:
        """Every event of one trial, in the order in which the steps became ready."""
        plan = self._plan
        draw = self._ready.chooser.draw(self._seed, trial)
        diary = run(plan, draw)
        due = np.flatnonzero(~draw.skip & (diary.ready != NEVER))
        due = due[np.argsort(diary.ready[due], kind="stable")]
        minutes, units = self._keeper.split(draw, diary), self._units(diary, draw)
        return [self._event(step, trial, diary, minutes, units) for step in due.tolist()]

    def _event(
        self, step: int, trial: int, diary: Diary, minutes: Minutes, units: dict[int, list[str]]
    ) -> Event:
        plan, tags = self._plan, self._plan.tags(step)
        started, ready = int(diary.started[step]), int(diary.ready[step])
        spent = causes_of(minutes, step)
        enabler = int(diary.enabler[step])
        return Event(
            trial=trial,
            step=plan.names[step],
            trade=tags.trade,
            level=tags.level,
            zone=tags.zone,
            kind=tags.kind,
            ready=self._at(ready),
            started=None if started == NEVER else self._at(started),
            finished=None if (end := int(diary.finished[step])) == NEVER else self._at(end),
            after=plan.names[enabler] if enabler >= 0 else "",
            units="; ".join(units.get(step, ())),
            wait_min=(plan.horizon if started == NEVER else started) - ready,
            cause=next((cause for cause, _ in spent if cause != SHIFT), spent[0][0] if spent else ""),
            causes="; ".join(f"{cause} {n}" for cause, n in spent),
        )

    def _at(self, minute: int) -> datetime:
        return self._midnight + timedelta(minutes=minute)

    def _units(self, diary: Diary, draw: Draw) -> dict[int, list[str]]:
        """Names of the units that were there while each step was done."""
        names = self._plan.pools.names
        taken: defaultdict[tuple[int, int], list[str]] = defaultdict(list)
        by = served(diary, draw)
        for step, pool, unit in zip(by.step.tolist(), by.pool.tolist(), by.unit.tolist(), strict=True):
            if names[pool] in self._resources:
                taken[step, pool].append(f"{names[pool]} {unit + 1}" if unit >= 0 else names[pool])
        there: defaultdict[int, list[str]] = defaultdict(list)
        for (step, _), units in taken.items():
            there[step] += units
        for step, holds in self._holds.items():
            for hold in holds:
                there[step] += [unit for unit in taken.get(hold, ()) if unit not in there[step]]
        return there

    def events(self, trials: int) -> Iterator[list[Event]]:
        """The events of so many trials, trial by trial, so that memory stays flat."""
        for trial in range(trials):
            yield self.of(trial)


def causes_of(minutes: Minutes, step: int) -> list[tuple[str, int]]:
    """Causes of a step's wait with their minutes, the longest first; of equal ones the ledger's first."""
    waiting: Ints = minutes.waiting[:, step]
    some = np.flatnonzero(waiting > 0)
    order = some[np.argsort(-waiting[some], kind="stable")]
    return [(minutes.causes[k], int(waiting[k])) for k in order.tolist()]
