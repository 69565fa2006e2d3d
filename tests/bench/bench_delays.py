"""Days of events against the true ones: are they found without bias, and do their bands hold them?

    python tests/bench/bench_delays.py [SITES] [PROCESSES] [SEED]

Small sites that obey the model: level 4 came twelve days late with all above it, and the second trade was
held for six days meanwhile. Each is seen ten days after that, with a quarter of its time still to come.
The true days of a
site are the differences of its own trial with and without the events. Nine in ten of the trials of a replay
must hold them in 90 % of the sites, and their mean must err by nothing, each within three standard errors.
That is asked where a log times the work, and of weekly sheets alone, where the minutes are those of the law.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Iterator, Mapping
from multiprocessing import Pool
from pathlib import Path

import numpy as np

from support.late_site import A, B, LateSite, write_late_site
from towerpace.answers.delay.concurrency import Pair, pair
from towerpace.answers.delay.delay import Delays

TRIALS, COVERS = 100, 0.9
RECORDS = (True, False)  # with a log, and without


def of_pair(days: Pair) -> Mapping[str, np.ndarray]:
    """The parts by their names."""
    return {"A alone": days.alone, "B alone": days.other_alone, "either": days.either, "together": days.both}


def one_site(task: tuple[int, int]) -> list[list[tuple[str, float, float, float]]]:
    """By record and part: the true days, the mean of the trials, and the place of the truth among them."""
    seed, trial = task
    with tempfile.TemporaryDirectory() as folder:
        site = LateSite(write_late_site(Path(folder)), seed=seed, trial=trial)
        true = of_pair(pair(lambda befell: np.array([site.days(befell)]), A, B))
        known = {name: float(days[0]) for name, days in true.items()}
        return [list(_parts(site, Path(folder), known, seed=seed + 1000 + trial, log=log)) for log in RECORDS]


def _parts(
    site: LateSite, folder: Path, known: Mapping[str, float], *, seed: int, log: bool
) -> Iterator[tuple[str, float, float, float]]:
    delays = Delays(site.played(folder, trials=TRIALS, seed=seed, log=log))
    parts = [(name, known[name], days) for name, days in of_pair(delays.together.pairs[A, B]).items()]
    of_b = delays.singles[1]
    parts.append(("B, its own replay", known["B alone"], of_b.cost()))
    parts.append(("not explained", 0.0, delays.singles[0].unexplained))
    for name, true_d, days in parts:
        yield name, true_d, float(days.mean()), _place(days, true_d)


def _place(days: np.ndarray, truth: float) -> float:
    """Share of the trials below the truth, half of those equal to it. [-]"""
    days = np.round(days * 1440)
    truth = round(truth * 1440)
    return float(np.mean(days < truth) + np.mean(days == truth) / 2)


def row(name: str, true: np.ndarray, mean: np.ndarray, place: np.ndarray) -> str:
    """A line of the table."""
    n, error = len(true), mean - true
    sd = float(error.std(ddof=1))
    off = 0.0 if sd == 0 else float(error.mean()) / (sd / n**0.5)
    held = np.mean(np.abs(place - 0.5) <= COVERS / 2)
    coverage = (held - COVERS) / (COVERS * (1 - COVERS) / n) ** 0.5
    wrong = "  NOT AS STATED" if abs(off) > 3 or coverage < -3 else ""
    days = f"{true.mean():8.2f} {true.std(ddof=1):6.2f} {mean.mean():8.2f} {error.mean():+8.3f} {off:+6.1f}"
    return f"{name:20}{days} {sd:8.2f} {100 * held:8.1f} {coverage:+6.1f}{wrong}"


def main(sites: int, processes: int, seed: int) -> None:
    """All sites, over some processes."""
    with Pool(processes) as pool:
        found = pool.map(one_site, [(seed, trial) for trial in range(sites)], chunksize=1)
    print(f"{sites} sites of seed {seed}, {TRIALS} trials a replay")
    print("A: a level late by 12 d with all above it; B: a trade held for 6 d")
    print("error: mean of the trials less truth; off: its standard errors, then those of the cover from 90 %")
    for number, log in enumerate(RECORDS):
        print("whole log" if log else "weekly sheets alone")
        print("days                   truth     sd    found    error    off  error sd   covers    off")
        for k, (name, *_) in enumerate(found[0][number]):
            values = np.array([site[number][k][1:] for site in found])
            print(row(name, *values.T), flush=True)


if __name__ == "__main__":
    asked = [int(word) for word in sys.argv[1:]]
    main(*(asked + [100, 2, 11][len(asked) :]))
