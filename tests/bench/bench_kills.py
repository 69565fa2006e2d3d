"""End commands at random moments, by SIGKILL and SIGINT, and say what was left and what was lost.

    python tests/bench/bench_kills.py [--kills 100] [--only COMMAND]

What is done to each stands in `tests/support/killed.py`. Moments lie anywhere between the start of a process
and its usual end.
"""

from __future__ import annotations

import argparse
from collections import Counter
from pathlib import Path
from tempfile import TemporaryDirectory

from support.dice import Dice
from support.killed import COMMANDS, Victim, prepare

SHARES = {"sweep": 0.4, "forecast": 0.2, "update": 0.2, "report": 0.2}


def main() -> None:
    """Carry out the campaign and print a line a command."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=100)
    parser.add_argument("--only", default="", choices=["", *COMMANDS])
    asked = parser.parse_args()
    lost = 0
    with TemporaryDirectory() as folder:
        site = prepare(Path(folder))
        for name, share in SHARES.items():
            if asked.only in ("", name):
                lost += campaign(Victim(site, name), name, kills=round(share * asked.kills))
    print(f"{lost} runs lost something or gave other bytes when run again")


def campaign(victim: Victim, name: str, *, kills: int) -> int:
    """One command ended so many times; how often something was wrong."""
    by, left, wrong = Counter[str](), Counter[str](), 0
    for number in range(kills):
        ended = victim.end(Dice(number))
        by[ended.by] += 1
        left[ended.left] += 1
        wrong += bool(ended.wrong)
        for words in ended.wrong:
            print(f"  {name}, {number}, {ended.by} after {ended.after_s:.2f} s: {words}", flush=True)
    found = ", ".join(f"{count} {what}" for what, count in sorted(left.items()))
    ends = ", ".join(f"{count} {what}" for what, count in sorted(by.items()))
    print(f"{name}: ended {kills} times ({ends}); left: {found}; {wrong} wrong", flush=True)
    return wrong


if __name__ == "__main__":
    main()
