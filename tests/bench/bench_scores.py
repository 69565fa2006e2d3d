"""How often forecasts that are right are called wrong by their marks, and those that are wrong.

    python tests/bench/bench_scores.py --sites 200 --processes 16

A site is one more trial of the law of its forecast, so that the forecast is right; or one whose trades take
1.3 times as long, so that it is wrong. A mark of chance 5 % or less calls it wrong: of right ones 5 %, within
three standard errors, at data dates when most outcomes are open, too. Beside it stands a binomial test of how
many levels are later than their P80, which takes levels as independent.
"""

import argparse
from concurrent.futures import ProcessPoolExecutor
from datetime import date
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from support.logged_site import Truth
from support.marked_site import days_of, marked, write_site
from towerpace import __version__
from towerpace.answers.prepare import prepare
from towerpace.scenario import load

SHARES = (0.4, 0.7, 1.6)  # of the median finish: the last one sees nearly every site to its end
ALPHA = 0.05
SLOWER = 1.3
SEED = 37


def one_site(number, *, path, trials):
    """By data date, of a right forecast and of one that is wrong: which marks call it wrong, and its size."""
    from scipy.stats import binom

    ready = prepare(load(path))
    forecast = days_of(ready, seed=SEED + number, trials=range(trials))
    slow = dict.fromkeys(ready.tower.trades, Truth(SLOWER))
    right = days_of(ready, seed=SEED + number, trials=range(trials, trials + 1))[0]
    wrong = days_of(ready, seed=SEED + number, trials=range(trials, trials + 1), truths=slow)[0]
    median, rows = float(np.median(forecast[:, 0])), []
    for share in SHARES:
        for site in (right, wrong):
            one = marked(ready, forecast, site, seen=int(share * median))
            alike = binom.sf(one.late - 1, len(one.which), 0.2) if one.late else 1.0
            called = (one.score_as_badly, one.late_as_badly, float(alike))
            rows.append((*(mark <= ALPHA for mark in called), one.places.mean(), one.effective[1]))
    return rows


def row(name, told, *, must):
    """A line: told is (n_sites, 5)."""
    n, shares = len(told), told.mean(axis=0)
    off = (shares[0] - ALPHA) / (ALPHA * (1 - ALPHA) / n) ** 0.5
    # Whole days tie, so that counts of late levels are called wrong less often than said; never more.
    off_late = (shares[1] - ALPHA) / (ALPHA * (1 - ALPHA) / n) ** 0.5
    wrong = "  NOT AS STATED" if must and (abs(off) > 3 or off_late > 3) else ""
    called = "".join(f"{100 * share:9.1f}" for share in shares[:3])
    return f"{name:26}{called}{off:+7.1f}{100 * shares[3]:8.1f}{np.nanmean(told[:, 4]):8.1f}{wrong}"


def main(sites, processes, trials):
    with TemporaryDirectory() as folder:
        one = partial(one_site, path=write_site(Path(folder)), trials=trials)
        if processes == 1:
            told = [one(number) for number in range(sites)]
        else:
            with ProcessPoolExecutor(processes) as pool:
                told = list(pool.map(one, range(sites)))
    told = np.array(told, dtype=float)
    print(f"marks of {sites} sites, {trials} trials a forecast, towerpace {__version__}, {date.today()}")
    print(
        "called wrong %: by the score, by late levels, by a binomial of late levels; place: mean, 50 if right"
    )
    print("data date, site              score     late binomial    off   place  worth")
    for k, share in enumerate(SHARES):
        print(row(f"{100 * share:.0f} %, as forecast", told[:, 2 * k], must=True))
        print(row(f"{100 * share:.0f} %, {SLOWER:g} times slower", told[:, 2 * k + 1], must=False))


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("--sites", type=int, default=200)
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--trials", type=int, default=199)
    main(**vars(parser.parse_args()))
