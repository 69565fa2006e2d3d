"""Is what `choose` names as good as stated, and with how many trials?

    python tests/bench/bench_choose.py [--searches N] [--pool N] [--processes N] [--setups large|small]

A line of five trades over eight floors with costs, whose set-ups (crews of each trade) are all played in a
pool of trials, which gives their true cost, P80 and chance. Every search draws its trials from the pool with
replacement, so that the pool is the very law it meets. Told are: how often the choice is
within what matters of the best of all; how often it truly does what was asked; how often a neighbour is truly
better by more than what matters although the search says that none is; and the trials used beside those of a
grid, all set-ups with as many as the choice gets. The yardstick of a least cost, or of a budget, is the best
of those that hold by the error which fresh trials have: what holds by less cannot be shown. Exit code 1 if a
share lies more than 4 standard errors below what is stated.
"""

from __future__ import annotations

import argparse
import math
import sys
import tempfile
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from multiprocessing import get_context
from pathlib import Path

import numpy as np

from support.choices import Dealt
from towerpace.answers.choose.decide import decide
from towerpace.answers.choose.goal import Goal
from towerpace.answers.choose.keeping import Kept
from towerpace.answers.choose.open_setups import open_setups
from towerpace.answers.choose.played import Played
from towerpace.answers.choose.proof import LACKING, NARROW, NOT_BETTER
from towerpace.answers.choose.search import Rules
from towerpace.scenario import load
from towerpace.units import DAY_MIN

FLOORS, FRESH, SURE, CONFIDENCE = 8, 400, 0.9, 0.8
TRADES = {
    "brackets": (1500, 2300, 4700),
    "panels": (1450, 2740, 5600),
    "seal": (1400, 2150, 4400),
    "framing": (1300, 2000, 4200),
    "boards": (1700, 2900, 5900),
}
RATES = {"brackets": 1.4, "panels": 2.0, "seal": 1.0, "framing": 0.9, "boards": 1.3}
CREWS = {"large": (5, 5, 5, 4, 6), "small": (3, 3, 2, 2, 3)}
WEEK = ", ".join(f'{day} = ["00:00-24:00"]' for day in ("mon", "tue", "wed", "thu", "fri", "sat", "sun"))


def write_tower(folder, crews):
    """The line with its costs and decisions; every crew has no weather and works day and night."""
    text = [
        '[tower]\nname = "Open line"\nstart = 2027-01-01\nhorizon_days = 400\nlevels = "levels.csv"',
        f"[calendar.always]\nweek = {{ {WEEK} }}",
        "[structure]\nslip_days = 0",
        '[cost]\nunit = "gang-day"\nsite_overhead_per_day = 3',
    ]
    before = "handover"
    for (trade, (low, likely, high)), most in zip(TRADES.items(), crews, strict=True):
        rates = f"cost_per_day = {RATES[trade]}\ncost_mobilise = 4"
        text.append(f"[resource.{trade}_crew]\ncount = 1\n{rates}")
        text.append(
            f'[trade.{trade}]\nkind = "gang"\ncolumn = "floors"\n'
            f'unit_min = {{ low = {low}, likely = {likely}, high = {high}, shape = "pert" }}\n'
            'pace = { low = 0.85, likely = 1.0, high = 1.3, shape = "pert" }\n'
            f'needs = {{ {trade}_crew = 1 }}\ncalendar = "always"\nafter = [{{ on = "{before}" }}]'
        )
        text.append(
            f'[decision.{trade}]\nkey = "resource.{trade}_crew.count"\nfrom = 1\nto = {most}\nstep = 1'
        )
        before = trade
    (folder / "scenario.toml").write_text("\n\n".join(text) + "\n", encoding="utf-8")
    rows = [f"{n},all,{3 * n},1,2027-01-01,1" for n in range(1, FLOORS + 1)]
    table = "\n".join(["level,zone,height_m,difficulty,handover,floors", *rows]) + "\n"
    (folder / "levels.csv").write_text(table, encoding="utf-8")
    return folder / "scenario.toml"


def played(path, points, *, pool):
    """Finish and cost of the whole pool of some set-ups, (n, pool) each."""
    trials = Played(open_setups(load(path)), seed=1, kept=Kept(None, of={}))
    samples = [trials.results([point], [pool], fresh=False)[0] for point in points]
    return np.array([s.finish for s in samples]), np.array([s.cost for s in samples])


class Truth:
    """Every set-up by the whole pool."""

    def __init__(self, space, finish, cost):
        self.space, self.finish, self.cost = space, finish, cost
        self.place = {point: k for k, point in enumerate(space.all())}
        self.p80 = np.quantile(finish, CONFIDENCE, axis=1) / DAY_MIN
        self.mean_cost = cost.mean(axis=1) / 1000

    def goals(self):
        """A date that a tenth of the set-ups meet, no bound at all, and a budget that a third keep."""
        due = int(np.quantile(self.p80, 0.1) * DAY_MIN)
        return {
            "least cost": (Goal(due=due, confidence=CONFIDENCE), 0.01 * self.mean_cost[0]),
            "earliest": (Goal(), 1.0),
            "within a budget": (Goal(budget=float(np.quantile(self.mean_cost, 0.33))), 1.0),
        }

    def of(self, goal):
        """Objective of every set-up, which of them do, and which do by what fresh trials can show."""
        if goal.is_cost:
            met = (self.finish <= goal.due).mean(axis=1)
            error = 2 * (CONFIDENCE * (1 - CONFIDENCE) / FRESH) ** 0.5
            return self.mean_cost, met >= CONFIDENCE, met >= CONFIDENCE + error
        if goal.budget is None:
            everything = np.ones(len(self.p80), dtype=bool)
            return self.p80, everything, everything
        error = 2 * self.cost.std(axis=1) / 1000 / FRESH**0.5
        return self.p80, self.mean_cost <= goal.budget, self.mean_cost <= goal.budget - error


_TRUTHS = []  # what processes that begin as copies of this one find


def searched(deal, *, goal, matters):
    """One search: choice within what matters of the best, does, wrongly proved, trials, set-ups, settled."""
    truth = _TRUTHS[0]
    trials = Dealt(truth.finish, truth.cost, truth.place.__getitem__, deal=deal)
    rules = Rules(matters, sure=SURE, seed=deal)
    found, visited = decide(truth.space, goal, trials, rules=rules, most=FRESH)
    if found.proof is None:
        return (0, 1, 0, trials.spent, len(visited.samples), 0)
    objective, does, shown = truth.of(goal)
    own = truth.place[found.proof.point]
    best = objective[shown].min()
    near = set(truth.space.neighbours(found.proof.point))
    told = [r for r in found.proof.rivals if r.point in near and r.state in (LACKING, NARROW, NOT_BETTER)]
    wrong = any(
        (shown if rival.state == NARROW else does)[truth.place[rival.point]]
        and objective[truth.place[rival.point]] < objective[own] - matters
        for rival in told
    )
    good = objective[own] <= best + matters
    return (good, does[own], wrong, trials.spent, len(visited.samples), not found.proof.open)


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--searches", type=int, default=200)
    parser.add_argument("--pool", type=int, default=2400)
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--setups", choices=CREWS, default="large")
    asked = parser.parse_args()
    fork = get_context("fork")
    with tempfile.TemporaryDirectory() as folder, ProcessPoolExecutor(asked.processes, fork) as executor:
        _TRUTHS.append(truth_of(Path(folder), asked, executor))
    truth, good = _TRUTHS[0], True
    print(f"{len(truth.place)} set-ups, a pool of {asked.pool} trials each, {asked.searches} searches")
    print("                  within what  truly   wrongly  settled  set-ups  trials  grid of")
    print("                  matters      does    proved   whole    tried    used    as many")
    with ProcessPoolExecutor(asked.processes, fork) as executor:
        for name, (goal, matters) in truth.goals().items():
            search = partial(searched, goal=goal, matters=matters)
            rows = np.array(list(executor.map(search, range(asked.searches), chunksize=5)), dtype=float)
            good &= told(name, rows, grid=len(truth.place) * FRESH)
    return 0 if good else 1


def truth_of(folder, asked, executor):
    """All set-ups played, shared out over the processes."""
    path = write_tower(folder, CREWS[asked.setups])
    space = open_setups(load(path)).space
    points = list(space.all())
    parts = [points[k : k + 50] for k in range(0, len(points), 50)]
    pools = list(executor.map(partial(played, path, pool=asked.pool), parts))
    return Truth(space, *(np.concatenate([pool[k] for pool in pools]) for k in (0, 1)))


def told(name, rows, *, grid):
    """Print a line; whether no share lies far below what is stated."""
    near, does, wrong, used, tried, settled = rows.mean(axis=0)
    error = math.sqrt(SURE * (1 - SURE) / len(rows))
    shares = f"{near:11.1%}  {does:6.1%}  {wrong:7.1%}  {settled:7.1%}"
    print(f"{name:16}  {shares}  {tried:7.0f}  {used:6.0f}  {grid:7,}", flush=True)
    return near > SURE - 4 * error and does > 0.95 - 4 * error and wrong < 1 - SURE + 4 * error


if __name__ == "__main__":
    sys.exit(main())
