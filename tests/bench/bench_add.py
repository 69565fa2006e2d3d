"""Is the first named by `add` right as often as stated, and do its intervals cover as stated?

    python tests/bench/bench_add.py [--runs N] [--truth N] [--workers N]

A small line of four trades, written to a temporary folder, whose true gains are known from very many trials;
`add` is then asked again and again, each time under a seed of its own. Every share stands beside its own
standard error. Exit code 1 if a share lies more than 4 standard errors below what is stated.
"""

from __future__ import annotations

import argparse
import math
import sys
import tempfile
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from multiprocessing import get_context
from pathlib import Path
from time import perf_counter, process_time

import numpy as np
from numpy.typing import NDArray

from towerpace.answers.choice.add import Rules, add, additions
from towerpace.answers.choice.lab import Lab
from towerpace.answers.choice.paired import Difference
from towerpace.scenario import load
from towerpace.scenario.setups import base_of
from towerpace.units import DAY_MIN

FLOORS = 8
# Minutes of a floor: low, likely, high. Brackets govern a little more often than panels, boards seldom.
TRADES = {
    "brackets": (1500, 2300, 4700),
    "panels": (1450, 2240, 4600),
    "seal": (1400, 2150, 4400),
    "boards": (1200, 1900, 3900),
}
DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
RULES = Rules(zone_days=0.5, confidence=0.95, most=4000, steps=0)
TRUTH_SEED, INTERVAL = 1_000_000, 0.95


def write_scenario(folder: Path) -> Path:
    """The line of four trades; every crew learns nothing, meets no weather and works day and night."""
    week = ", ".join(f'{day} = ["00:00-24:00"]' for day in DAYS)
    text = [
        '[tower]\nname = "Short line"\nstart = 2027-01-01\nhorizon_days = 300\nlevels = "levels.csv"',
        f"[calendar.always]\nweek = {{ {week} }}",
        "[structure]\nslip_days = 0",
    ]
    text += [f"[resource.{trade}_crew]\ncount = 1" for trade in TRADES]
    before = "handover"
    for trade, (low, likely, high) in TRADES.items():
        text.append(
            f'[trade.{trade}]\nkind = "gang"\ncolumn = "floors"\n'
            f'unit_min = {{ low = {low}, likely = {likely}, high = {high}, shape = "pert" }}\n'
            'pace = { low = 0.85, likely = 1.0, high = 1.3, shape = "pert" }\n'
            f"needs = {{ {trade}_crew = 1 }}\n"
            f'calendar = "always"\nafter = [{{ on = "{before}" }}]'
        )
        before = trade
    (folder / "scenario.toml").write_text("\n\n".join(text) + "\n", encoding="utf-8")
    rows = [f"{n},all,{3 * n},1,2027-01-01,1" for n in range(1, FLOORS + 1)]
    table = "\n".join(["level,zone,height_m,difficulty,handover,floors", *rows]) + "\n"
    (folder / "levels.csv").write_text(table, encoding="utf-8")
    return folder / "scenario.toml"


@dataclass(frozen=True)
class Truth:
    """Mean and P80 of the finish of each addition less those of the base, from very many trials. [d]"""

    days: dict[str, float]
    errors: dict[str, float]
    p80_days: dict[str, float]

    @property
    def best(self) -> str:
        """The addition that gains most."""
        return min(self.days, key=lambda name: self.days[name])


def finishes(path: Path, name: str | None, trials: range) -> NDArray[np.int64]:
    """Finish of some trials of the base or of one addition. [min]"""
    base = base_of(load(path))
    setups = {option.resource: option.setup for option in additions(base)}
    # Each block has a seed of its own, so that no block plays the trials before it.
    lab = Lab(TRUTH_SEED + trials.start)
    minutes, _ = lab.results([base if name is None else setups[name]], len(trials))
    return np.asarray(minutes[0], dtype=np.int64)


def truth_of(path: Path, *, trials: int, pool: ProcessPoolExecutor) -> Truth:
    """Play every addition and the base, block by block."""
    blocks = [range(k, min(k + 1000, trials)) for k in range(0, trials, 1000)]
    names = [None, *(f"{trade}_crew" for trade in TRADES)]
    base, *others = (
        np.concatenate(list(pool.map(partial(finishes, path, name), blocks))) / DAY_MIN for name in names
    )
    single = {str(name): x - base for name, x in zip(names[1:], others, strict=True)}
    return Truth(
        {name: float(x.mean()) for name, x in single.items()},
        {name: float(x.std(ddof=1) / trials**0.5) for name, x in single.items()},
        {
            str(name): float(np.quantile(x, 0.8) - np.quantile(base, 0.8))
            for name, x in zip(names[1:], others, strict=True)
        },
    )


@dataclass(frozen=True)
class Said:
    """What one run of `add` said. cpu_s : processor time it took. [s]"""

    first: str
    verdict: str
    days: dict[str, Difference]
    p80_days: dict[str, Difference]
    used: int
    equal: int
    cpu_s: float


def ask(path: Path, seed: int) -> Said:
    """One run of `add` under a seed of its own."""
    begin = process_time()
    advice = add(load(path), lab=Lab(seed), seed=seed, rules=RULES)
    more = [r for r in advice.ranking if r.option.change == "+1"]
    return Said(
        more[0].option.resource,
        more[0].verdict,
        {r.option.resource: r.days for r in more if r.days is not None},
        {r.option.resource: r.p80_days for r in more if r.p80_days is not None},
        advice.trials_used,
        advice.trials_equal,
        process_time() - begin,
    )


@dataclass(frozen=True)
class Share:
    """A share of runs with its own standard error, 0 where all or none are marked. [-]"""

    value: float
    error: float
    runs: int

    def keeps(self, stated: float) -> bool:
        """Not below what is stated by more than 4 of the standard errors that the stated share would have."""
        error = math.sqrt(stated * (1 - stated) / self.runs)
        return self.value >= stated - 4 * error

    def __str__(self) -> str:
        return f"{self.value:6.1%} +- {self.error:.1%}"


def share(marked: list[bool]) -> Share:
    """Share of the marked."""
    p = float(np.mean(marked))
    return Share(p, (p * (1 - p) / len(marked)) ** 0.5, len(marked))


def covered(said: list[Said], truth: dict[str, float], *, name: str, of_p80: bool) -> list[bool]:
    """For every run that simulated the addition, whether its interval holds the truth."""
    found = [(run.p80_days if of_p80 else run.days).get(name) for run in said]
    return [d.low <= truth[name] <= d.high for d in found if d is not None]


def main() -> int:
    """Find the truth, ask again and again, print the table; returns the exit code."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--runs", type=int, default=200)
    parser.add_argument("--truth", type=int, default=20_000)
    parser.add_argument("--workers", type=int, default=2)
    arguments = parser.parse_args()
    begin = perf_counter()
    with (
        tempfile.TemporaryDirectory() as folder,
        ProcessPoolExecutor(arguments.workers, mp_context=get_context("spawn")) as pool,
    ):
        path = write_scenario(Path(folder))
        truth = truth_of(path, trials=arguments.truth, pool=pool)
        said = list(pool.map(partial(ask, path), range(1, arguments.runs + 1), chunksize=5))
    print(f"{arguments.runs} runs of add, zone {RULES.zone_days:g} d, confidence {RULES.confidence:.0%}\n")
    kept = report(said, truth, trials=arguments.truth)
    cpu_s = sum(run.cpu_s for run in said)
    print(f"\n{perf_counter() - begin:.0f} s on {arguments.workers} workers; {cpu_s:.0f} s in add itself")
    return 0 if kept else 1


def report(said: list[Said], truth: Truth, *, trials: int) -> bool:
    """Print what was found; whether every promise is kept."""
    intervals = report_intervals(said, truth, trials=trials)
    best = report_best(said, truth)
    used, equal = (float(np.mean([getattr(run, word) for run in said])) for word in ("used", "equal"))
    saved = f"equal allocation {equal:.0f}: {1 - used / equal:.0%} saved"
    print(f"trials used, mean            {used:6.0f}  ({saved})")
    return intervals and best


def report_intervals(said: list[Said], truth: Truth, *, trials: int) -> bool:
    """Print how often the intervals of each addition cover its true gain; whether as often as stated."""
    print(f"{'addition':16}{'true gain [d]':>17}{'first':>8}{'interval covers':>19}{'that of P80':>19}")
    kept = True
    for name, days in sorted(truth.days.items(), key=lambda item: item[1]):
        first = sum(run.first == name for run in said)
        cells = ""
        for table, of_p80 in ((truth.days, False), (truth.p80_days, True)):
            found = share(covered(said, table, name=name, of_p80=of_p80))
            kept &= found.keeps(INTERVAL)
            cells += f"{found}{' ' if found.keeps(INTERVAL) else '*'}".rjust(19)
        print(f"{name:16}{days:9.3f} +- {truth.errors[name]:.3f}{first:8}{cells}")
    print(f"truth: {trials:,} trials of each; stated: {INTERVAL:.0%}; * not kept, by 4 standard errors\n")
    return kept


def report_best(said: list[Said], truth: Truth) -> bool:
    """Print how often the first named is the best; whether as often as stated."""
    best, next_best = sorted(truth.days.values())[:2]
    right = share([run.first == truth.best for run in said])
    near = share([truth.days[run.first] <= best + RULES.zone_days for run in said])
    sure = [run.first == truth.best for run in said if run.verdict.endswith("sure it is the best")]
    print(f"first named is the best      {right}  (stated: at least {RULES.confidence:.0%})")
    print(f"  or within the zone of it   {near}")
    if sure:
        print(f"  where it is said to be so  {share(sure)}  ({len(sure)} runs; a tie is said in the others)")
    print(f"best is ahead of the next by {next_best - best:6.2f} d")
    promised = next_best - best >= RULES.zone_days
    return (right if promised else near).keeps(RULES.confidence)


if __name__ == "__main__":
    sys.exit(main())
