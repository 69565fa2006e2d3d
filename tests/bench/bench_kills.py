"""End commands at random moments, by SIGKILL and SIGINT, and say what was left and what was lost.

    python tests/bench/bench_kills.py [--kills 100] [--what update,report,page] [--first 0]

Of all kills each command has its share, so that a part of them, by `--what`, and the rest add up to a
campaign. What is done to each stands in `tests/support/killed.py` and `killed_page.py`. Moments lie anywhere
between the start of a process and its usual end.
"""

from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory

from support.dice import Dice
from support.killed import Ended, Victim, prepare
from support.killed_page import Page

SHARES = {"sweep": 0.3, "forecast": 0.2, "update": 0.2, "report": 0.15, "page": 0.15}
AIMED = {"page that kept": 0.2}  # beside the campaign: behind the first set-up that was kept


def main() -> None:
    """Carry out the campaign and print a line a command."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=100)
    parser.add_argument("--what", default=",".join(SHARES), help="commands, with commas between them")
    parser.add_argument("--first", type=int, default=0, help="number of the first kill of each")
    asked = parser.parse_args()
    lost = 0
    with TemporaryDirectory() as folder:
        site = prepare(Path(folder))
        for name in asked.what.split(","):
            kills = range(asked.first, asked.first + round({**SHARES, **AIMED}[name] * asked.kills))
            lost += campaign(_ender(site, name), name, kills=kills)
    print(f"{lost} runs lost something or gave other bytes when run again")


def _ender(site: Path, name: str) -> Callable[[Dice], Ended]:
    if name in AIMED:
        return Page(site).end_after_kept
    return Page(site).end if name == "page" else Victim(site, name).end


def campaign(end: Callable[[Dice], Ended], name: str, *, kills: range) -> int:
    """One command ended so many times; how often something was wrong."""
    by, left, wrong = Counter[str](), Counter[str](), 0
    for number in kills:
        ended = end(Dice(number))
        by[ended.by] += 1
        left[ended.left] += 1
        wrong += bool(ended.wrong)
        for words in ended.wrong:
            print(f"  {name}, {number}, {ended.by} after {ended.after_s:.2f} s: {words}", flush=True)
    found = ", ".join(f"{count} {what}" for what, count in sorted(left.items()))
    ends = ", ".join(f"{count} {what}" for what, count in sorted(by.items()))
    print(f"{name}: ended {len(kills)} times ({ends}); left: {found}; {wrong} wrong", flush=True)
    return wrong


if __name__ == "__main__":
    main()
