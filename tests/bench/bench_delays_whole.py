"""Days of a late level on whole small sites, from the files of their foremen, against the true ones.

    python tests/bench/bench_delays_whole.py [SITES] [PROCESSES] [SEED]

Trials of the small wharf, with breakages, trucks, failures, a mock-up and risks, are taken for sites on which
level 2 came ten days late with all above it. Each writes weekly sheets, a log of its trades and the wind up
to 60 % of its time. Failures and the hours of trucks and crates nobody tells, so a replay is not the record.
The mean of the days found must err by nothing, and nine trials in ten must hold the truth in 90 % of the
sites, both within three standard errors.
"""

from __future__ import annotations

import sys
import tempfile
from multiprocessing import Pool
from pathlib import Path

import numpy as np

from support import wharf_in_small as small
from support.late_wharf import LATE_D, TRIALS, LateWharf
from towerpace.answers.delay.delay import Delays
from towerpace.answers.prepare import prepare
from towerpace.scenario import load
from towerpace.units import DAY_MIN

COVERS = 0.9


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
    held = np.mean(np.abs(place - 0.5) <= COVERS / 2)
    coverage = (held - COVERS) / (COVERS * (1 - COVERS) / n) ** 0.5
    print(f"{sites} small wharves of seed {seed}, {TRIALS} trials a replay: levels late by {LATE_D} d")
    print(f"true days, mean and sd             {true.mean():7.2f} {true.std(ddof=1):6.2f}")
    print(f"days found, mean                   {found.mean():7.2f}")
    print(f"error, mean, standard errors, sd   {error.mean():+7.2f} {off:+6.1f} {error.std(ddof=1):6.2f}")
    print(f"taking all days for its cost: error{LATE_D - true.mean():+7.2f}")
    print(f"nine in ten trials hold the truth  {100 * held:7.0f} % {coverage:+5.1f}")
    print(f"not explained by the model         {unexplained.mean():+7.2f} {unexplained.std(ddof=1):6.2f}")
    print("NOT AS STATED" if abs(off) > 3 or coverage < -3 else "as stated")


if __name__ == "__main__":
    asked = [int(word) for word in sys.argv[1:]]
    main(*(asked + [100, 2, 3][len(asked) :]))
