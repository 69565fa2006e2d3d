"""Attack everything that a user hands over, thousands of times; prints how often each attack ended how.

Which attacks there are stands in `tests/support/attacks.py`; each is made from its number, so that any can be
carried out again. Ends that must never be are printed with their number and what was said.
"""

from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Callable
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory
from time import perf_counter

from support import attacked
from support.attacks import arenas
from support.dice import Dice


def main() -> None:
    """Carry out the attacks and print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--first", type=int, default=0, help="number of the first attack of each kind")
    parser.add_argument("--seconds", type=float, default=120, help="for each kind")
    parser.add_argument("--only", default="", help="kinds whose name holds this")
    parser.add_argument(
        "--steps", type=int, default=0, help="go on with keys until both engines played so many"
    )
    asked = parser.parse_args()
    total: Counter[str] = Counter()
    with TemporaryDirectory() as folder:
        for name, attack in arenas(Path(folder)).items():
            if asked.only in name:
                total += carry_out(name, attack, asked)
    print(f"\n{sum(total.values()):,} attacks: {_listed(total)}")
    never = sum(total[end] for end in attacked.NEVER)
    print(f"{never:,} ended as none may: {', '.join(attacked.NEVER)}")


def carry_out(name: str, attack: Callable[[Dice], attacked.End], asked: argparse.Namespace) -> Counter[str]:
    """One kind of attack for so long; its line of the table."""
    ends: Counter[str] = Counter()
    steps, slowest, number, begin = 0, 0.0, asked.first, perf_counter()
    wanted = asked.steps if name == "keys of the scenario" else 0
    while perf_counter() - begin < asked.seconds or steps < wanted:
        end = attacked.end_of(partial(attack, Dice(number)))
        ends[end.what] += 1
        steps, slowest = steps + end.steps, max(slowest, end.seconds)
        if end.what not in (attacked.REFUSED, attacked.ANSWERED):
            print(f"  {name}, number {number}: {end.what}\n{end.words[-1500:]}", flush=True)
        number += 1
    alike = f"; {steps:,} steps alike in both engines" if steps else ""
    counted = f"{sum(ends.values()):,}: {_listed(ends)}; the slowest {slowest:.1f} s{alike}"
    print(f"{name}, from number {asked.first}, {counted}", flush=True)
    return ends


def _listed(ends: Counter[str]) -> str:
    return ", ".join(f"{count:,} {what}" for what, count in ends.most_common())


if __name__ == "__main__":
    main()
