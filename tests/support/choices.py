"""Set-ups whose trials are known beforehand: a table of them, from which searches are dealt."""

from __future__ import annotations

import numpy as np

from towerpace.answers.choose.goal import Sample
from towerpace.answers.cost import PARTS
from towerpace.units import DAY_MIN

MOST_DEALT = 20_000  # trials of a set-up


class Dealt:
    """Trials of a table, drawn from it with replacement: the table is the law, known to the last digit.

    finish, cost : (set-ups, trials), finish in minutes and cost in thousandths. place : of a point in them.
    """

    def __init__(self, finish, cost, place, *, deal):
        rng = np.random.Generator(np.random.PCG64(deal))
        self._orders = rng.integers(finish.shape[1], size=(2, MOST_DEALT))
        self._finish, self._cost, self._place = finish, cost, place
        self._played = {}

    @property
    def spent(self):
        return sum(self._played.values())

    def results(self, points, upto, *, fresh):
        samples = []
        for point, n in zip(points, upto, strict=True):
            self._played[point, fresh] = max(n, self._played.get((point, fresh), 0))
            row, trials = self._place(point), self._orders[int(fresh), :n]
            samples.append(Sample(self._finish[row, trials], self._cost[row, trials]))
        return samples


def normal_table(means_days, costs, *, trials, seed, common=0.7, sd_days=10.0, sd_cost=5.0):
    """Normal finishes and costs about known means, with this share of their variance in common."""
    rng = np.random.Generator(np.random.PCG64(seed))
    k = len(means_days)
    shared, own = rng.standard_normal(trials), rng.standard_normal((k, trials))
    noise = common**0.5 * shared + (1 - common) ** 0.5 * own
    money = rng.standard_normal(trials)
    finish = (np.asarray(means_days)[:, None] + sd_days * noise) * DAY_MIN
    cost = (np.asarray(costs)[:, None] + sd_cost * (0.9 * money + 0.44 * own)) * PARTS
    return np.rint(finish).astype(np.int64), np.rint(cost).astype(np.int64)
