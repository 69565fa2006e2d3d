"""A small wharf whose levels came late from one on, from the files of its foreman, with its true days."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

from support.foreman import WatchedSite
from support.two_chains import EVENT_HEAD, write_rows
from towerpace.answers.delay.played import SitePlayed, TrialsOf
from towerpace.answers.learn.minutes import SiteClock
from towerpace.answers.prepare import Prepared
from towerpace.answers.seen.reading import Reading
from towerpace.engine.fastest import run
from towerpace.record.effects import Effects
from towerpace.record.events import EventReader
from towerpace.units import DAY_MIN

LATE_LEVEL, LATE_D = 2, 10
SHARE, TRIALS = 0.6, 60


class LateWharf(WatchedSite):
    """A trial of the small wharf whose levels come late from one on. without_min : its finish if not."""

    def __init__(self, ready: Prepared, *, seed: int, trial: int) -> None:
        super().__init__(ready, seed=seed, trial=trial)
        steps = self.tower.handover[self.tower.levels.index(LATE_LEVEL) :]
        date = self.draw.date.copy()
        self.due_d, self.without_min = int(date[steps[0]]) // DAY_MIN, int(self.diary.finish or 0)
        date[steps] += LATE_D * DAY_MIN
        self.draw = replace(self.draw, date=date)
        self.diary = run(self.plan, self.draw)
        self.clock = SiteClock(self.plan, hours=self.draw.hours)

    def played(self, folder: Path, ready: Prepared, *, seed: int) -> SitePlayed:
        """The site as its files tell of it."""
        start = ready.tower.start
        record = self.record(folder, start + timedelta(int(SHARE * self.diary.finish / DAY_MIN)))
        days = [start + timedelta(self.due_d + late) for late in (0, LATE_D)]
        row = ["late", "", "", "", *days, f'level."from {LATE_LEVEL}".handover', "", ""]
        path = write_rows(folder / "events.csv", EVENT_HEAD, [row])
        reader = EventReader(Effects.of(ready.scenario, record.words), record.start, record.at)
        events, faults = reader.read(path)
        assert not faults
        how = TrialsOf(TRIALS, seed)
        return SitePlayed.seen_at(ready, record, reading=Reading(True, events, str(path)), how=how)
