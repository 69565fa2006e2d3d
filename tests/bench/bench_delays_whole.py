"""Days of a late level on whole small sites, from the files of their foremen, against the true ones.

    python tests/bench/bench_delays_whole.py [SITES] [PROCESSES] [SEED]

Trials of the small wharf, with breakages, trucks, failures, a mock-up and risks, are taken for sites on which
level 2 came ten days late with all above it. Each writes weekly sheets, a log of its trades and the wind up
to 60 % of its time. Failures and the hours of trucks and crates nobody tells, so a replay is not the record.
The mean of the days found must err by nothing, within three standard errors. How often nine trials in ten
hold the truth is told, not asked: a site that goes another way ends days sooner or later by that alone.
"""

from __future__ import annotations

import sys
import tempfile
from dataclasses import replace
from datetime import timedelta
from multiprocessing import Pool
from pathlib import Path

import numpy as np

from support import wharf_in_small as small
from support.foreman import WatchedSite
from support.two_chains import EVENT_HEAD, write_rows
from towerpace.answers.delay.delay import Delays
from towerpace.answers.delay.played import SitePlayed, TrialsOf
from towerpace.answers.delay.reading import Reading
from towerpace.answers.learn.minutes import SiteClock
from towerpace.answers.prepare import Prepared, prepare
from towerpace.engine.fastest import run
from towerpace.record.effects import Effects
from towerpace.record.events import EventReader
from towerpace.scenario import load
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


def one_site(task: tuple[int, int]) -> tuple[float, float, float, float]:
    """True days, their mean in the trials, place of the truth among them, and days not explained. [d]"""
    seed, trial = task
    with tempfile.TemporaryDirectory() as folder:
        ready = prepare(load(small.write(Path(folder) / "wharf")))
        site = LateWharf(ready, seed=seed, trial=trial)
        of = Delays(site.played(Path(folder), ready, seed=seed + 1000 + trial)).singles[0]
    true_d, days = (site.diary.finish - site.without_min) / DAY_MIN, of.cost()
    place = np.mean(days < true_d - 1e-9) + np.mean(np.abs(days - true_d) <= 1e-9) / 2
    return true_d, float(days.mean()), float(place), float(of.unexplained.mean())


def main(sites: int, processes: int, seed: int) -> None:
    """All sites, over some processes."""
    with Pool(processes) as pool:
        rows = np.array(pool.map(one_site, [(seed, trial) for trial in range(sites)], chunksize=1))
    true, found, place, unexplained = rows.T
    error, n = found - true, len(rows)
    off = error.mean() / (error.std(ddof=1) / n**0.5)
    held = np.mean(np.abs(place - 0.5) <= 0.45)
    print(f"{sites} small wharves of seed {seed}, {TRIALS} trials a replay: levels late by {LATE_D} d")
    print(f"true days, mean and sd             {true.mean():7.2f} {true.std(ddof=1):6.2f}")
    print(f"days found, mean                   {found.mean():7.2f}")
    print(f"error, mean, standard errors, sd   {error.mean():+7.2f} {off:+6.1f} {error.std(ddof=1):6.2f}")
    print(f"taking all days for its cost: error{LATE_D - true.mean():+7.2f}")
    print(f"nine in ten trials hold the truth  {100 * held:7.0f} %")
    print(f"not explained by the model         {unexplained.mean():+7.2f} {unexplained.std(ddof=1):6.2f}")
    print("NOT AS STATED" if abs(off) > 3 else "as stated")


if __name__ == "__main__":
    asked = [int(word) for word in sys.argv[1:]]
    main(*(asked + [100, 2, 3][len(asked) :]))
