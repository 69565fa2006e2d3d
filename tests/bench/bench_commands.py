"""What whole questions cost over the trials that they announce.

    python tests/bench/bench_commands.py [SCENARIO] [--share S] [--only QUESTION]

A bid, an addition and a comparison are asked in this process, on one worker. Their processor time stands
beside that of as many trials of a forecast, taken from a long forecast less a short one, before and after.
The parts of a bid are told apart by what it says while it plays. A share below 1 plays fewer trials than the
questions do if nothing is said.
"""

from __future__ import annotations

import argparse
import gc
from collections.abc import Callable
from pathlib import Path
from time import process_time

from towerpace import add, bid, compare, forecast, load
from towerpace.face.defaults import ADD_TRIALS, BID_TRIALS, COMPARE_TRIALS
from towerpace.scenario.load import Scenario

DEMO = Path(__file__).parents[2] / "scenarios" / "gannet_wharf" / "scenario.toml"
SHORT, LONG = 20, 120
SWING_TRIALS = 40


class Clock:
    """Processor time by what is being done. [s]"""

    def __init__(self) -> None:
        self.parts: dict[str, float] = {}
        self._what, self._since = "make ready", process_time()

    def say(self, what: str) -> None:
        """From now on something else is being done; what follows a colon does not tell parts apart."""
        now = process_time()
        self.parts[self._what] = self.parts.get(self._what, 0.0) + now - self._since
        self._what, self._since = what.partition(":")[0], now


def seconds(ask: Callable[[], object]) -> float:
    """Processor time of a question. [s]"""
    gc.collect()
    begin = process_time()
    ask()
    return process_time() - begin


def trial_s(scenario: Scenario) -> float:
    """Processor time of one trial more of a forecast. [s]"""
    forecast(scenario, trials=2)  # compiles what the engine needs
    short, long = (seconds(lambda n=n: forecast(scenario, trials=n)) for n in (SHORT, LONG))
    return (long - short) / (LONG - SHORT)


def ask_bid(scenario: Scenario, trials: int, swing_trials: int) -> tuple[int, float]:
    """Trials that a bid announces, and its processor time. [s]"""
    announced: list[int] = []
    clock = Clock()
    spent = seconds(
        lambda: bid(
            scenario,
            trials=trials,
            swing_trials=swing_trials,
            cost=lambda parts: announced.append(sum(parts.values())),
            say=clock.say,
        )
    )
    clock.say("done")
    for what, part_s in clock.parts.items():
        print(f"  {what:28}{part_s:10.1f} s")
    return announced[0], spent


def ask_add(scenario: Scenario, trials: int) -> tuple[int, float]:
    """Trials that a search has played, and its processor time. [s]"""
    played: list[int] = []

    def asked() -> None:
        advice = add(scenario, trials=trials, steps=1)
        played.append(advice.answer.run.trials)

    spent = seconds(asked)
    return played[0], spent


def ask_compare(scenario: Scenario, trials: int) -> tuple[int, float]:
    """Trials of a comparison of all set-ups with the base, and its processor time. [s]"""
    played: list[int] = []
    spent = seconds(lambda: compare(scenario, trials=trials, on_done=played.append))
    return sum(played), spent


def main() -> None:
    """Ask everything and print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("scenario", nargs="?", default=str(DEMO))
    parser.add_argument("--share", type=float, default=1.0)
    parser.add_argument("--only", choices=("bid", "add", "compare"))
    arguments = parser.parse_args()
    scenario, share = load(arguments.scenario), arguments.share
    questions = {
        "compare": lambda: ask_compare(scenario, round(share * COMPARE_TRIALS)),
        "add": lambda: ask_add(scenario, round(share * ADD_TRIALS)),
        "bid": lambda: ask_bid(scenario, round(share * BID_TRIALS), round(share * SWING_TRIALS)),
    }
    before_s = trial_s(scenario)
    for word, ask in questions.items():
        if arguments.only in (None, word):
            trials, spent = ask()
            after_s = trial_s(scenario)
            own_s = trials * (before_s + after_s) / 2
            one = f"{1000 * before_s:.1f} and {1000 * after_s:.1f} ms"
            print(f"{word:8}{trials:8,} trials{spent:9.1f} s, {spent / own_s:.2f} of a forecast's, at {one}")
            before_s = after_s


if __name__ == "__main__":
    main()
