"""Updates of a whole site from the files of its foreman: do they hold its finish as often as they say?

    python tests/bench/bench_whole_site.py [SITES] [SEED]

Trials of the small wharf, with breakages, trucks, failures, a mock-up and risks, are taken for sites. Each
writes weekly sheets, a log of its trades and the wind. At 25, 50 and 75 % of the median forecast it is
updated: from these files, from them without the log, and from a perfect diary, which no site has.
The place of the site's finish among 49 trials must lie in the middle 40 of 50 in 80 % of the sites.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Iterator
from datetime import timedelta
from multiprocessing import Pool
from pathlib import Path

import numpy as np

from support import wharf_in_small as small
from support.foreman import WatchedSite
from support.perfect_diary import perfect_chooser
from towerpace.answers.prepare import Prepared, prepare
from towerpace.answers.seen.site_state import as_planned_times, chooser_of, site_state
from towerpace.draws import Chooser
from towerpace.engine.fastest import run
from towerpace.scenario import load

TRIALS = 49
MIDDLE = range(5, 45)  # places of 50 that P10 to P90 hold
DATES = (0.25, 0.5, 0.75)
HOWS = ("files", "no log", "perfect diary")


def median_day(ready: Prepared) -> int:
    """The median finish before the start. [d]"""
    finishes = [run(ready.tower.plan, ready.chooser.draw(1, t)).finish for t in range(200)]
    return int(np.median(finishes)) // 1440


def choosers(site: WatchedSite, ready: Prepared, day: int) -> Iterator[Chooser]:
    """Who draws the trials that go on, for each way of knowing."""
    planned, at = as_planned_times(ready), ready.tower.start + timedelta(day - 1)
    for log in (True, False):
        with tempfile.TemporaryDirectory() as folder:
            record = site.record(Path(folder), at, log=log)
        state = site_state(ready, record, planned=planned)
        yield chooser_of(state, weather=state, learned=state)
    yield perfect_chooser(site, ready, at=day * 1440)


def one_site(task: tuple[str, int, int, int]) -> list[list[tuple[float, float, float]]]:
    """By date and way of knowing: place of the site among the trials, P10 to P90 and mean less site. [d]"""
    path, median, seed, trial = task
    ready = prepare(load(Path(path)))
    site, rows = WatchedSite(ready, seed=seed, trial=trial), []
    truth = site.diary.finish
    for share in DATES:
        rows.append([])
        for chooser in choosers(site, ready, int(share * median)):
            draws = [chooser.draw(1000 + trial, t) for t in range(TRIALS)]
            finish = np.array([run(chooser.plan, draw).finish for draw in draws])
            place = (finish < truth).sum() + (finish == truth).sum() / 2
            low, high = np.quantile(finish, (0.1, 0.9)) / 1440
            rows[-1].append((float(place), float(high - low), float(finish.mean() - truth) / 1440))
    return rows


def row(name: str, places: np.ndarray, widths: np.ndarray, errors: np.ndarray) -> str:
    """A line of the table."""
    n = len(places)
    held = np.mean([int(place) in MIDDLE for place in places])
    off = (held - 0.8) / (0.8 * 0.2 / n) ** 0.5
    early, late = np.mean(places < MIDDLE.start), np.mean(places >= MIDDLE.stop)
    last = np.mean(places > TRIALS - 0.6)
    shares = f"{100 * held:7.1f} {off:+5.1f} {100 * early:10.1f} {100 * late:9.1f} {100 * last:6.1f}"
    return f"{name:20} {np.median(widths):6.1f} {shares} {errors.mean():+8.2f} {np.median(errors):+8.2f}"


def main(sites: int, seed: int) -> None:
    """All sites, over two processes."""
    with tempfile.TemporaryDirectory() as folder:
        path = small.write(Path(folder) / "wharf")
        median = median_day(prepare(load(path)))
        with Pool(2) as pool:
            tasks = [(str(path), median, seed, trial) for trial in range(sites)]
            found = np.array(pool.map(one_site, tasks, chunksize=2))
    print(f"{sites} sites of seed {seed}, {TRIALS} trials a forecast, median before the start {median} d")
    print("off: standard errors of the coverage from 80 %; before, after: finished before P10, after P90;")
    print("last: after all trials, as 2 % should; error: of the trials' mean less the site, mean and median")
    print("date, known by       P10-90  covers   off before P10 after P90   last  error d   median")
    for at, share in enumerate(DATES):
        for how, name in enumerate(HOWS):
            print(row(f"{100 * share:.0f} %, {name}", *found[:, at, how].T), flush=True)


if __name__ == "__main__":
    asked = [int(word) for word in sys.argv[1:]]
    main(*(asked + [100, 2][len(asked) :]))
