"""Level, scatter and front effect of a trade, learned from its items on a grid that closes in on them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import reduce

import numpy as np

from towerpace.answers.learn.items import Items
from towerpace.answers.learn.likelihood import Cells, FrontSums, Likelihood
from towerpace.answers.learn.priors import WRONG_TIMES, Prior
from towerpace.units import Floats

CELLS = (201, 31, 12)
FEWER_CELLS = (101, 15, 8)  # enough to find the mistyped items
ROUNDS = 6  # of finding them
LEAST_SHARE = 1e-7  # cells at the ends with less are left out when the grid closes in


@dataclass(frozen=True)
class Axis:
    """What is known of one number: the chance of each cell between edges.

    edges : (n + 1,) ascending. chance : (n,), in all 1.
    """

    edges: Floats
    chance: Floats

    @property
    def middles(self) -> Floats:
        """Middles of the cells, (n,)."""
        return (self.edges[1:] + self.edges[:-1]) / 2

    def quantile(self, u: Floats | float) -> Floats:
        """Values at probabilities, of the same shape."""
        below = np.concatenate(([0.0], np.cumsum(self.chance)))
        below /= below[-1]
        inside = np.concatenate(([True], np.diff(below) > 0))
        inside[:-1] |= inside[1:]  # the last edge before the first chance, too
        return np.asarray(np.interp(u, below[inside], self.edges[inside]))

    def mean(self) -> float:
        """The mean."""
        return float(self.chance @ self.middles)

    def variance(self) -> float:
        """The variance, cells as points."""
        return float(self.chance @ (self.middles - self.mean()) ** 2)

    def closed_in(self) -> Floats:
        """Ends of the cells that matter, one cell more on either side."""
        below = np.cumsum(self.chance)
        first = int(np.searchsorted(below, LEAST_SHARE))
        last = int(np.searchsorted(below, 1 - LEAST_SHARE))
        ends = self.edges[[max(first - 1, 0), min(last + 2, len(self.edges) - 1)]]
        return np.asarray(ends, dtype=np.float64)


@dataclass(frozen=True)
class Learned:
    """What is known of one trade; a part of what a trial knows beforehand.

    Attributes
    ----------
    level, spread, front : Axis
        ln of the level, ln of the scatter, sd of the front effect. [-]
    prior : Prior
        What was believed before.
    exact, running, dated : int
        Items with known minutes, in progress, and known to the day.

    Examples
    --------
    >>> import numpy as np
    >>> from towerpace.answers.learn.items import Items, Stated
    >>> from towerpace.answers.learn.priors import Prior
    >>> from towerpace.scenario.spreads import Spread
    >>> panel = Stated.of([Spread.pert(low=20, likely=30, high=50)])
    >>> minutes = np.array([40.0, 38.0, 45.0, 36.0])
    >>> none = np.zeros(4, dtype=np.int64)
    >>> items = Items((panel,), none, np.ones(4), minutes, minutes, np.arange(4))
    >>> learned = learn(items, prior=Prior(np.linspace(0.85, 1.4, 100)))
    >>> bool(1.1 < learned.quantile(0.5) < 1.4)
    True
    """

    level: Axis
    spread: Axis
    front: Axis
    prior: Prior
    exact: int
    running: int
    dated: int

    def quantile(self, u: Floats | float) -> Floats:
        """Levels at probabilities; at that of the trade's normal score in a trial, its pace there. [-]"""
        return np.exp(self.level.quantile(u))

    def scatter(self, u: Floats | float) -> Floats:
        """Scatter over the stated one at probabilities. [-]"""
        return np.exp(self.spread.quantile(u))

    def front_sd(self, u: Floats | float) -> Floats:
        """Standard deviation of ln minutes that fronts have in common, at probabilities. [-]"""
        return self.front.quantile(u)


def learn(items: Items, *, prior: Prior) -> Learned:
    """What the items of a trade say of its level, scatter and front effect.

    Known minutes may be mistyped: each counts less by the chance that it is, found in rounds as the weights
    of a scale mixture (A. P. Dempster, N. M. Laird & D. B. Rubin 1977, Maximum likelihood from incomplete
    data via the EM algorithm, from memory).
    """
    known = items.taken(items.exact)
    explained = Likelihood(items, np.ones(len(known)), prior.wrong_share)
    rounds = ROUNDS if prior.wrong_share and len(known) else 0
    axes = _at_prior(prior)
    for _ in range(rounds):
        doubt = _doubt(known, explained.doubt, axes, share=prior.wrong_share)
        settled = np.allclose(doubt, explained.doubt, rtol=0.01)
        explained = replace(explained, doubt=doubt)
        axes = _on_grid(explained, prior, ends=prior.reach(), cells=FEWER_CELLS)
        if settled:
            break
    ends = prior.reach()
    for cells in (FEWER_CELLS, FEWER_CELLS, CELLS):
        axes = _on_grid(explained, prior, ends=ends, cells=cells)
        ends = (axes[0].closed_in(), axes[1].closed_in(), axes[2].closed_in())
    dated = len(items) - len(known) - int(items.running.sum())
    return Learned(*axes, prior, len(known), int(items.running.sum()), dated)


Axes = tuple[Axis, Axis, Axis]


def _edges(prior: Prior, ends: tuple[Floats, ...], cells: tuple[int, int, int]) -> list[Floats]:
    level, spread, front = (np.linspace(end[0], end[1], n + 1) for end, n in zip(ends, cells, strict=True))
    if not prior.front_sd:
        return [level, spread, np.zeros(2)]
    return [level, spread, front if front[0] else np.concatenate(([0.0], front))]


def _believed(prior: Prior, edges: list[Floats]) -> list[Floats]:
    return [prior.level(edges[0]), prior.scatter(edges[1]), prior.front(edges[2])]


def _at_prior(prior: Prior) -> Axes:
    edges = _edges(prior, prior.reach(), FEWER_CELLS)
    level, spread, front = map(Axis, edges, _believed(prior, edges))
    return level, spread, front


def _on_grid(
    explained: Likelihood, prior: Prior, *, ends: tuple[Floats, Floats, Floats], cells: tuple[int, int, int]
) -> Axes:
    """Chances of the cells between ends, each number by itself."""
    edges = _edges(prior, ends, cells)
    middles = [(e[1:] + e[:-1]) / 2 for e in edges]
    at = Cells(middles[0], np.exp(middles[1]), middles[2])
    believed = reduce(np.multiply.outer, _believed(prior, edges))
    log = explained.over(at)
    chance = believed * np.exp(log - log[believed > 0].max())
    chance /= chance.sum()
    level, spread, front = (
        Axis(e, chance.sum(axis=other)) for e, other in zip(edges, ((1, 2), (0, 2), (0, 1)), strict=True)
    )
    return level, spread, front


def _doubt(known: Items, doubt: Floats, axes: Axes, *, share: float) -> Floats:
    """Variance of each known item over the stated one, given how far it lies from what is known now, (n,)."""
    level, spread, front = axes
    at = Cells(np.array([level.mean()]), np.exp(np.array([spread.mean()])), np.array([front.mean()]))
    sums = FrontSums(known, scatter=at.scatter, doubt=doubt)
    effects = {f: sums.effect(f, at) for f in sums.fronts.tolist()}
    mean = np.array([effects[f][0].item() for f in known.front.tolist()])
    variance = np.array([effects[f][1].item() for f in known.front.tolist()]) + level.variance()
    centre = at.level - at.front**2 / 2 + known.shifts(at.scatter)[:, 0] + mean
    square = ((known.log_ratio(known.low) - centre) ** 2 + variance) / (at.scatter * known.scatter) ** 2
    right = (1 - share) * np.exp(-square / 2)
    wrong = share / WRONG_TIMES * np.exp(-square / (2 * WRONG_TIMES**2))
    chance = right / (right + wrong)
    variance_over: Floats = 1 / (chance + (1 - chance) / WRONG_TIMES**2)
    return variance_over
