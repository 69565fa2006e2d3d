"""How often is a set-up said to meet a date that it truly meets less often than asked?

    python tests/bench/bench_target.py [--truth N] [--trials N]

All set-ups of the grid of a small line of four trades are played in very many trials, which give their true
chance. These trials are cut into runs of a few hundred; in each run the cheapest set-up that is shown to
meet the date is chosen, as `add --target` does, and beside it the cheapest whose share of the trials does.
The dates are those at which some set-up truly stands a little below what is asked.
"""

from __future__ import annotations

import argparse
import tempfile
from itertools import product
from pathlib import Path

import numpy as np
from bench_add import TRADES, write_scenario

from towerpace.answers.choice.lab import Lab, counts_of
from towerpace.answers.choice.target import MOST_ADDED, WIDTH, Tried, chosen
from towerpace.answers.estimates import chance
from towerpace.scenario import load
from towerpace.scenario.setups import base_of, changed

CONFIDENCE = 0.8
BORDERS = (0.72, 0.75, 0.78, 0.795)  # true chances that may wrongly be taken for enough


def grid(folder):
    """Set-ups by units added, the fewest first, as without costs."""
    base = base_of(load(write_scenario(folder)))
    crews = [f"{trade}_crew" for trade in list(TRADES)[:WIDTH]]
    for extra in sorted(product(range(MOST_ADDED + 1), repeat=WIDTH), key=sum):
        counts = counts_of(base)
        keys = {f"resource.{c}.count": counts[c] + k for c, k in zip(crews, extra, strict=True)}
        yield changed(base.scenario, str(extra), keys)


def choices(met, *, trials):
    """Places, in each run, of the set-up shown to meet the date and of that whose share does; -1: none."""
    for start in range(0, met.shape[1] - trials + 1, trials):
        parts = met[:, start : start + trials]
        run = [Tried(None, {}, None, None, chance(part), trials) for part in parts]
        shown, likely = chosen(run, confidence=CONFIDENCE)
        places = {id(setup): place for place, setup in enumerate(run)}
        by_share = shown if likely is None else likely
        yield places.get(id(shown), -1), places.get(id(by_share), -1)


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--truth", type=int, default=8000)
    parser.add_argument("--trials", type=int, default=200)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        setups = list(grid(Path(folder)))
        finish = np.array([Lab(1).results([setup], asked.truth)[0][0] for setup in setups])
    print(f"{len(setups)} set-ups, {asked.truth} trials each, runs of {asked.trials}, asked {CONFIDENCE:.0%}")
    print("border: true chance of one of the set-ups on the date, each of them in its turn")
    print("             by the lower end               by the share")
    print("border  runs  too low   none  mean truth  too low   none  mean truth")
    for border in BORDERS:
        due = np.quantile(finish, border, axis=1).astype(np.int64)
        told = [judged(finish <= minute, trials=asked.trials) for minute in due]
        print(row(border, np.concatenate(told)), flush=True)


def judged(met, *, trials):
    """True chance of what each run names, by either rule; nan where it names none. (runs, 2)"""
    truth = np.append(met.mean(axis=1), np.nan)
    return truth[np.array(list(choices(met, trials=trials)))]


def row(border, named):
    """A line of the table."""
    low, none = np.mean(named < CONFIDENCE, axis=0), np.mean(np.isnan(named), axis=0)
    mean = np.nanmean(named, axis=0)
    told = [f"{low[k]:7.1%}  {none[k]:5.1%}  {mean[k]:10.1%}" for k in (0, 1)]
    return "  ".join([f"{border:6.1%}  {len(named):4}", *told])


if __name__ == "__main__":
    main()
