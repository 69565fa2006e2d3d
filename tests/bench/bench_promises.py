"""How often promises of a stated chance are kept, on simulated sites.

    python tests/bench/bench_promises.py --sites 200 --processes 16

Trials of the small wharf, with breakages, trucks, failures, a mock-up and risks, are taken for sites; a
foreman writes weekly sheets, a log and the wind. At 30, 50 and 70 % of the median forecast every place of
open work promises the day whose chance is next to the wanted one. The share kept must be the mean chance that
was stated, within three standard errors; promises of one site go together, so errors count sites. The day of
the k-th of n trials comes after the site in k of n + 1 cases, so few trials state a little too much.
"""

import argparse
from concurrent.futures import ProcessPoolExecutor
from datetime import date
from functools import cache, partial
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from support import wharf_in_small
from support.foreman import WatchedSite
from support.promised_site import kept, looked, promises_of
from towerpace import __version__
from towerpace.answers.prepare import prepare
from towerpace.engine.fastest import run
from towerpace.scenario import load

SHARES = (0.3, 0.5, 0.7)
WANTED = (0.5, 0.8, 0.95)
SEED = 31


@cache
def ready_of(path):
    """The scenario, compiled once in every process."""
    return prepare(load(path))


def one_site(number, *, path, median_d, trials, shares):
    """By data date and wanted chance: promises, sum of their chances, and how many were kept."""
    ready = ready_of(path)
    site = WatchedSite(ready, seed=SEED, trial=number)
    rows = []
    for share in shares:
        with TemporaryDirectory() as folder:
            asked = {"day": int(share * median_d), "trials": trials, "seed": 1000 + number}
            look = looked(ready, site, folder=Path(folder), **asked)
        for wanted in WANTED:
            told = promises_of(look, wanted=wanted)
            rows.append((len(told), sum(c for _, c in told), sum(kept(site, p) for p, _ in told)))
    return rows


def row(name, told):
    """A line: told is (n_sites, 3)."""
    n, stated, done = told.sum(axis=0)
    # The ratio of sums over sites, its error by their residuals (ratio estimator).
    off = told[:, 2] - told[:, 1]
    error = len(told) ** 0.5 * off.std(ddof=1) / n
    away = (done - stated) / n / error
    wrong = "  NOT AS STATED" if abs(away) > 3 else ""
    return (
        f"{name:22}{n:9.0f}{100 * stated / n:9.1f}{100 * done / n:8.1f}{100 * error:6.1f}{away:+6.1f}{wrong}"
    )


def main(sites, processes, trials, shares):
    with TemporaryDirectory() as folder:
        path = wharf_in_small.write(Path(folder) / "wharf")
        ready = ready_of(path)
        finishes = [run(ready.tower.plan, ready.chooser.draw(1, t)).finish for t in range(100)]
        median_d = int(np.median(finishes)) // 1440
        one = partial(one_site, path=path, median_d=median_d, trials=trials, shares=shares)
        if processes == 1:
            told = [one(number) for number in range(sites)]
        else:
            with ProcessPoolExecutor(processes) as pool:
                told = list(pool.map(one, range(sites)))
    told = np.array(told, dtype=float)
    print(f"promises of {sites} sites, {trials} trials a look, towerpace {__version__}, {date.today()}")
    print("data date, wanted      promises stated %  kept %    se   off")
    for k, share in enumerate(shares):
        for j, wanted in enumerate(WANTED):
            print(row(f"{100 * share:.0f} %, {100 * wanted:.0f} %", told[:, k * len(WANTED) + j]))


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("--sites", type=int, default=200)
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--trials", type=int, default=200)
    parser.add_argument("--shares", type=float, nargs="+", default=SHARES, help="of the median duration")
    main(**vars(parser.parse_args()))
