"""How often does `add` find what is best, over small sites on which every combination is known?

    python tests/bench/bench_add_search.py [--sites N] [--truth N] [--workers N]

Random sites of two to four gang trades that take one to three of up to five resources. On each, every
combination of up to three more units is played; `add` is asked under other draws. Told are how often it is
silent although something gains what matters, how often its first addition gains as much by the unit as the
best, and the days that its path of up to three units lies behind the best three units: the regret.

Then two candidates that gain the same in truth: what the first named is said to gain, from the trials of the
choice and from fresh draws, how often the interval holds the truth, and how often one of them is called best.
"""

from __future__ import annotations

import argparse
import tempfile
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from itertools import combinations_with_replacement
from multiprocessing import get_context
from pathlib import Path
from time import perf_counter

import numpy as np

from support.dice import Dice
from support.line_site import TWIN, LineTrade, write_line, write_twins
from towerpace.answers.choice.add import FIRST, Rules, add
from towerpace.answers.choice.additions import with_units
from towerpace.answers.choice.lab import Lab
from towerpace.scenario import load
from towerpace.scenario.setups import base_of
from towerpace.units import DAY_MIN

MATTERS, MOST, UNITS = 1.0, 60, 3
RULES = Rules(zone_days=MATTERS, confidence=0.9, most=MOST, steps=UNITS)
TRUTH_SEED = 1_000_000
NAMES = ("v", "w", "x", "y", "z")


@dataclass(frozen=True)
class Found:
    """What one site showed. [d]

    best, path : gain of the best combination of up to three units, and of the path cut there.
    by_unit, first : largest gain of one unit of a combination, and that of the first addition.
    trials : that `add` played.
    """

    best: float
    path: float
    by_unit: float
    first: float
    trials: int


def write_site(folder: Path, number: int) -> Path:
    """A random site."""
    dice = Dice(number)
    names = NAMES[: dice.whole(2, len(NAMES))]
    trades = []
    for _ in range(dice.whole(2, 4)):
        likely = dice.whole(600, 2400)
        needs = {name: dice.of((1, 1, 1, 2)) for name in dice.some(names, most=3) or [names[0]]}
        trades.append(LineTrade(needs, (likely * 3 // 4, likely, likely * 7 // 4)))
    least = {name: max([1, *(trade.needs.get(name, 0) for trade in trades)]) for name in names}
    counts = {name: least[name] + dice.of((0, 0, 0, 1)) for name in names}
    return write_line(folder, trades=trades, counts=counts, floors=dice.whole(5, 9))


def play(number: int, *, truth: int) -> Found:
    """One site: the truth of every combination, and what `add` says."""
    with tempfile.TemporaryDirectory() as folder:
        scenario = load(write_site(Path(folder), number))
        base = base_of(scenario)
        lab = Lab(TRUTH_SEED + number)
        start = _mean_days(lab, base, truth)
        gains = {}
        for chosen in (
            c for size in (1, 2, 3) for c in combinations_with_replacement(_resources(base), size)
        ):
            units = {name: chosen.count(name) for name in dict.fromkeys(chosen)}
            gains[chosen] = start - _mean_days(lab, with_units(base, units).setup, truth)
        said = add(scenario, lab=Lab(number), seed=number, rules=RULES)
        path, used = 0.0, 0
        for stride in said.path:
            used += stride.ranked.option.size
            if used > UNITS:
                break
            path = start - _mean_days(lab, stride.ranked.option.setup, truth)
        first = said.path[0].ranked.option if said.path else None
        one = 0.0 if first is None else (start - _mean_days(lab, first.setup, truth)) / first.size
        return Found(
            max(0.0, *gains.values()),
            path,
            max(gain / len(c) for c, gain in gains.items()),
            one,
            said.trials_used,
        )


def _resources(base):
    return sorted(base.scenario.settings.resource)


def _mean_days(lab: Lab, setup, trials: int) -> float:
    finish, _ = lab.results([setup], trials)
    return float(finish.mean()) / DAY_MIN


@dataclass(frozen=True)
class Named:
    """What was said of the first named of two twins: its mean from the choice, and from fresh draws. [d]"""

    chosen: float
    mean: float
    holds: bool
    best: bool


TWIN_RULES = Rules(zone_days=0.1, confidence=0.9, most=100, steps=1)
TRUTH_DAYS = -TWIN.mean_min / 2 / DAY_MIN


def name_twin(seed: int) -> Named:
    """One run of `add` on the twins under a seed of its own."""
    with tempfile.TemporaryDirectory() as folder:
        lab = Lab(seed)
        advice = add(load(write_twins(Path(folder))), lab=lab, seed=seed, rules=TWIN_RULES)
        first = next(ranked for ranked in advice.ranking if ranked.fresh)
        finish, _ = lab.results([first.option.setup, advice.base], FIRST)
        days = first.days
        assert days is not None
        holds = days.low <= TRUTH_DAYS <= days.high
        chosen = float((finish[0] - finish[1]).mean()) / DAY_MIN
        return Named(chosen, days.mean, holds, "it is the best" in first.verdict)


def tell_twins(named: list[Named]) -> None:
    """The lines of the twins."""
    chosen, mean = (np.array([getattr(n, key) for n in named]) for key in ("chosen", "mean"))
    error = mean.std(ddof=1) / len(named) ** 0.5
    holds, best = (float(np.mean([getattr(n, key) for n in named])) for key in ("holds", "best"))
    print(f"{len(named)} runs on two candidates that both gain {-TRUTH_DAYS:.3f} d in truth:")
    said = f"{-chosen.mean():.3f} d; from fresh draws {-mean.mean():.3f} d +- {error:.3f}"
    print(f"said from the first {FIRST} trials of the choice {said}")
    print(
        f"95 % interval of the fresh gain holds the truth: {holds:.1%}; one of them called best: {best:.1%}"
    )


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--sites", type=int, default=200)
    parser.add_argument("--truth", type=int, default=100, help="trials of every combination")
    parser.add_argument("--workers", type=int, default=2)
    asked = parser.parse_args()
    begin = perf_counter()
    with ProcessPoolExecutor(asked.workers, mp_context=get_context("spawn")) as pool:
        found = list(pool.map(partial(play, truth=asked.truth), range(asked.sites)))
        named = list(pool.map(name_twin, range(asked.sites)))
    tell(found, truth=asked.truth)
    tell_twins(named)
    print(f"{perf_counter() - begin:.0f} s with {asked.workers} workers")


def tell(found: list[Found], *, truth: int) -> None:
    """The table."""
    best, path, by_unit, first = (
        np.array([getattr(f, name) for f in found]) for name in ("best", "path", "by_unit", "first")
    )
    matters = best >= MATTERS
    silent = matters & (path < MATTERS / 2)
    behind = np.maximum(best - path, 0)
    tried = first != 0
    print(f"{len(found)} sites; every combination of up to {UNITS} more units known from {truth} trials")
    print(f"something gains {MATTERS:g} day or more on {matters.sum()}; `add` is silent on {silent.sum()}")
    near = first >= by_unit - 0.1 - 0.05 * by_unit
    print(f"first addition gains as much a unit as the best (within 5 % and 0.1 d): {near[tried].mean():.1%}")
    print(
        f"path of up to {UNITS} units behind the best [d]: mean {behind.mean():.2f} of {best.mean():.2f}, "
        f"median {np.median(behind):.2f}, P90 {np.quantile(behind, 0.9):.2f}, largest {behind.max():.2f}"
    )
    print(f"best {UNITS} units found (within 0.1 d): {(behind < 0.1).mean():.1%}")
    print(f"trials that `add` played: mean {np.mean([f.trials for f in found]):.0f}")


if __name__ == "__main__":
    main()
