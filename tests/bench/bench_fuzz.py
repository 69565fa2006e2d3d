"""Attack everything that a user hands over, thousands of times; prints how often each attack ended how.

    python tests/bench/bench_fuzz.py [--seconds 120] [--only KIND] [--workers 16]
    python tests/bench/bench_fuzz.py --only keys --seconds 0 --steps 1000000 --trials 4 --workers 16

Which attacks there are stands in `tests/support/attacks.py`; each is made from its number, so that any can be
carried out again. Ends that must never be are printed with their number and what was said. Of several
workers, each takes every so many-th number; the second line plays on until both engines have played a million
steps of hostile scenarios alike.
"""

from __future__ import annotations

import argparse
import os
from collections import Counter
from collections.abc import Callable, Iterable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from functools import partial
from itertools import count
from pathlib import Path
from tempfile import TemporaryDirectory
from time import perf_counter

from support import attacked
from support.attacks import arenas
from support.dice import Dice

KEYS = "keys of the scenario"


@dataclass
class Tally:
    """How attacks of one kind have ended. slowest_s : processor time of one. [s]"""

    ends: Counter[str] = field(default_factory=Counter)
    steps: int = 0
    slowest_s: float = 0.0
    slowest: int = 0

    def add(self, number: int, end: attacked.End) -> None:
        """Count one attack."""
        self.ends[end.what] += 1
        self.steps += end.steps
        self.slowest_s, self.slowest = max((self.slowest_s, self.slowest), (end.seconds, number))

    def join(self, other: Tally) -> Tally:
        """Both together."""
        slowest = max((self.slowest_s, self.slowest), (other.slowest_s, other.slowest))
        return Tally(self.ends + other.ends, self.steps + other.steps, *slowest)


def main() -> None:
    """Carry out the attacks and print the table."""
    asked = _asked()
    with TemporaryDirectory() as folder:
        kinds = [name for name in arenas(Path(folder)) if asked.only in name]
    attacked.compiled_once()
    begin, total = perf_counter(), Tally()
    with ProcessPoolExecutor(asked.workers) as pool:
        for kind in kinds:
            lanes = [pool.submit(lane_of, kind, lane, asked) for lane in range(asked.workers)]
            tally = Tally()
            for lane in lanes:
                tally = tally.join(lane.result())
            print(_line(kind, tally, first=asked.first), flush=True)
            total = total.join(tally)
    print(f"\n{total.ends.total():,} attacks in {perf_counter() - begin:.0f} s: {_listed(total.ends)}")
    never = sum(total.ends[end] for end in attacked.NEVER)
    print(f"{never:,} ended as none may: {', '.join(attacked.NEVER)}")


def _asked() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--first", type=int, default=0, help="number of the first attack of each kind")
    parser.add_argument("--seconds", type=float, default=120, help="for each kind")
    parser.add_argument("--only", default="", help="kinds whose name holds this")
    parser.add_argument("--steps", type=int, default=0, help=f"of {KEYS}: until both engines played so many")
    parser.add_argument("--trials", type=int, default=1, help=f"{KEYS}: trials on both engines")
    parser.add_argument("--workers", type=int, default=os.cpu_count() or 1)
    return parser.parse_args()


def lane_of(kind: str, lane: int, asked: argparse.Namespace) -> Tally:
    """One worker's part: every so many-th number, on files of its own."""
    wanted = asked.steps / asked.workers if kind == KEYS else 0
    with TemporaryDirectory() as folder:
        attack = arenas(Path(folder), trials=asked.trials)[kind]
        numbers = count(asked.first + lane, asked.workers)
        return carry_out(attack, numbers=numbers, seconds=asked.seconds, steps=wanted, kind=kind)


def carry_out(
    attack: Callable[[Dice], attacked.End], *, numbers: Iterable[int], seconds: float, steps: float, kind: str
) -> Tally:
    """Attack for so long, and until so many steps were played."""
    tally, begin = Tally(), perf_counter()
    for number in numbers:
        if perf_counter() - begin >= seconds and tally.steps >= steps:
            break
        end = attacked.end_of(partial(attack, Dice(number)))
        tally.add(number, end)
        if end.what not in (attacked.REFUSED, attacked.ANSWERED):
            print(f"  {kind}, number {number}: {end.what}\n{end.words[-1500:]}", flush=True)
    return tally


def _line(kind: str, tally: Tally, *, first: int) -> str:
    alike = f"; {tally.steps:,} steps alike in both engines" if tally.steps else ""
    slowest = f"the slowest, {tally.slowest}, {tally.slowest_s:.1f} s"
    return f"{kind}, from number {first}, {tally.ends.total():,}: {_listed(tally.ends)}; {slowest}{alike}"


def _listed(ends: Counter[str]) -> str:
    return ", ".join(f"{times:,} {what}" for what, times in ends.most_common())


if __name__ == "__main__":
    main()
