"""Forecasts after updates: do they cover the truth as stated, and do they get narrower?

    python tests/bench/bench_updates.py [--sites N] [--seed S] [--processes N]

A trial is taken for the site. At 25, 50 and 75 % of the median forecast its past is fixed and the rest
played anew: with paces as stated, as learned from a full log, and at half time from the counts of a sheet.
80 % of the intervals from P10 to P90 of the finish must hold the site's, within three standard errors.
"""

import tempfile
from argparse import ArgumentParser, RawDescriptionHelpFormatter
from multiprocessing import Pool
from pathlib import Path

import numpy as np
from scipy.stats import kstest

from support.updated_site import DAY_MIN, Seen, write_site
from towerpace.engine.fastest import run
from towerpace.plan.chance import NOTHING_KNOWN

TRIALS, COVERS = 80, 0.8
AT_START = 400  # trials of the one forecast that all sites share before their start
RECORD = Path(__file__).parents[2] / "scenarios" / "weather" / "laguardia_2013_hourly.csv"
DATES = (0.25, 0.5, 0.75)
CASES = [("start", "-")] + [(d, how) for d in DATES for how in ("stated", "log")] + [(0.5, "counts")]


def forecast(prepared):
    """Finish of trials before the start. [min]"""
    return np.array([run(prepared.tower.plan, prepared.chooser.draw(1, t)).finish for t in range(AT_START)])


def known(seen, how, at):
    """What is learned of the paces in one way."""
    if how == "log":
        return seen.learned(at)
    return seen.counted(at, seed=4, trials=120) if how == "counts" else NOTHING_KNOWN


def one_site(task):
    """The finish of a site, and the forecasts of it, a row a case. [d]"""
    folder, trial, seed, start = task
    prepared = write_site(Path(folder), record=RECORD)
    seen, rows = Seen(prepared, seed=seed, trial=trial), [start]
    for share, how in CASES[1:]:
        at = int(share * np.median(start) / DAY_MIN) * DAY_MIN
        rows.append(seen.finishes(at, known(seen, how, at), seed=3 + trial, trials=TRIALS))
    return seen.diary.finish / DAY_MIN, [finishes / DAY_MIN for finishes in rows]


def crps(finishes, truth):
    """Continuous ranked probability score of an ensemble, the fair form. [d]"""
    n = len(finishes)
    apart = np.abs(finishes[:, None] - finishes).sum() / (2 * n * (n - 1))
    return np.abs(finishes - truth).mean() - apart


def row(name, forecasts, truths):
    """A line of the table."""
    low, high = np.quantile(forecasts, [0.1, 0.9], axis=1)
    held = np.mean((low <= truths) & (truths <= high))
    off = (held - COVERS) / (COVERS * (1 - COVERS) / len(truths)) ** 0.5
    score = np.mean([crps(f, t) for f, t in zip(forecasts, truths, strict=True)])
    n = forecasts.shape[1]
    place = (np.sum(forecasts < truths[:, None], axis=1) + 0.5) / (n + 1)
    wrong = "  NOT AS STATED" if abs(off) > 3 else ""
    bias = np.mean(forecasts - truths[:, None])
    told = f"{np.mean(high - low):8.2f} {100 * held:10.1f} {off:+6.1f} {score:9.2f} {bias:+9.2f}"
    return f"{name:18}{told} {kstest(place, 'uniform').pvalue:9.2f}{wrong}"


def main():
    """All sites, over the processes that are asked for."""
    parser = ArgumentParser(description=__doc__, formatter_class=RawDescriptionHelpFormatter)
    parser.add_argument("--sites", type=int, default=200)
    parser.add_argument("--seed", type=int, default=2, help="of the trials that are taken for the sites")
    parser.add_argument("--processes", type=int, default=2)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        folders = [str(Path(folder) / str(k)) for k in range(asked.sites)]
        for path in folders:
            Path(path).mkdir()
        with Pool(asked.processes) as pool:
            start = forecast(write_site(Path(folder), record=RECORD))
            tasks = [(path, k, asked.seed, start) for k, path in enumerate(folders)]
            sites = pool.map(one_site, tasks, chunksize=2)
    truths = np.array([truth for truth, _ in sites])
    print(
        f"{asked.sites} sites of seed {asked.seed}, {TRIALS} trials a forecast, {AT_START} before the start"
    )
    print("off: standard errors of the coverage from 80 %; bias: of the mean")
    print("data date, paces  P10-P90 d  covers 80 %    off    CRPS d    bias d  PIT KS p")
    for k, (share, how) in enumerate(CASES):
        name = share if isinstance(share, str) else f"{100 * share:.0f} %, {how}"
        print(row(name, np.array([rows[k] for _, rows in sites]), truths), flush=True)


if __name__ == "__main__":
    main()
