"""How soon the page of the demo answers: first spread, 200 trials, a plan written anew; in bare trials.

python tests/bench/bench_open.py [--repeats N]

A wish in seconds is one of a machine on which a trial takes 4.5 ms: half a second are 111 trials there, a
second and a half are 333. So each wall time is told in bare trials of this machine (draw, play, dates),
played by one process right before.
A machine that others use at the same time shows more: read the least of the repeats beside the median.
"""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path
from statistics import median

sys.path.insert(0, str(Path(__file__).parents[1]))

from support.workbench_client import Client, opened
from towerpace.workbench.player import Player

DEMO = Path(__file__).parents[2] / "scenarios" / "gannet_wharf" / "scenario.toml"
TRIAL_S = 0.0045
CHANGES = {
    "a count": {"resource.bracket_gang.count": (2, 1)},
    "a wind limit": {"limit.flat_lift.wind_above_m_s": (9.3, 9.5, 9.1)},
    "a calendar": {"calendar.site.week.sat": ([], ["07:00-12:00"])},
    "spares": {"family.flat.spares": (30, 40, 50)},
    "a spread": {"family.flat.set_min": (34, 35, 36)},
    "a floor crane (anew)": {"resource.floor_crane.count": (3, 2)},
    "a delivery (anew)": {"level.12.delivery": (7, 8, 9)},
}
WISHES = {20: 0.5, 200: 1.5}
ANEW_S = 1.5


def bare_trial_s(n: int = 60) -> float:
    """Median of single trials with new draws."""
    player = Player(str(DEMO), seed=1, place=0, of=1)
    site, took = player.file(0), []
    for trial in range(n):
        begin = time.perf_counter()
        _, diary = player.play(site, trial)
        site.reader(diary)
        took.append(time.perf_counter() - begin)
    return median(took[5:])


def answered(page: Client, changes: dict[str, object]) -> dict[int, float]:
    """Seconds from asking to each answer, by its number of trials."""
    begin = time.perf_counter()
    generation = page.ask(changes)
    return {int(str(answer["n"])): when - begin for answer, when in page.answers(generation)}


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--repeats", type=int, default=3)
    repeats = parser.parse_args().repeats
    bare = bare_trial_s()
    print(f"a bare trial {1000 * bare:.1f} ms; wishes at {1000 * TRIAL_S:g} ms a trial\n")
    print(f"{'changed':<22}{'trials':>7}{'least s':>9}{'median s':>10}{'bare trials':>13}{'wish':>6}")
    with opened(DEMO) as page:
        list(page.answers(0))
        for what, changes in CHANGES.items():
            ((key, values),) = changes.items()
            # The file between two changes, so that every one of them is new.
            rounds = []
            for k in range(repeats):
                rounds.append(answered(page, {key: values[k % len(values)]}))
                answered(page, {})
            for n, wish_s in WISHES.items():
                took = [times[n] for times in rounds if n in times]
                wish = (ANEW_S if "anew" in what and n == 20 else wish_s) / TRIAL_S
                least, middle = min(took), median(took)
                print(f"{what:<22}{n:>7}{least:>9.2f}{middle:>10.2f}{middle / bare:>13.0f}{wish:>6.0f}")


if __name__ == "__main__":
    main()
