"""What is wanted of a set-up: the least cost that meets a date, or the earliest P80 within a budget."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from towerpace.answers.choice.paired import Difference, paired_difference, percentile_difference
from towerpace.answers.cost import PARTS
from towerpace.answers.estimates import LATER, chance
from towerpace.draws import stream
from towerpace.units import DAY_MIN, Floats, Ints

P80 = 0.8
SPARE_ERRORS = 2.0


@dataclass(frozen=True)
class Sample:
    """Trials of one set-up, in order: finish [min] and cost in thousandths of the unit, (n,) each."""

    finish: Ints
    cost: Ints

    def __len__(self) -> int:
        return len(self.finish)

    def first(self, n: int) -> Sample:
        """Its first trials."""
        return Sample(self.finish[:n], self.cost[:n])

    @property
    def mean_cost(self) -> float:
        """In the unit of the scenario; infinite where a trial ends beyond the horizon."""
        return np.inf if np.any(self.cost == LATER) else float(self.cost.mean()) / PARTS

    def quantile_min(self, p: float) -> float:
        """Finish of rank ceil(n p) [min]; infinite beyond the horizon."""
        rank = max(1, int(np.ceil(len(self) * p - 1e-9))) - 1
        value = int(np.partition(self.finish, rank)[rank])
        return np.inf if value == LATER else float(value)


@dataclass(frozen=True)
class Goal:
    """What is to be made small, and what must hold.

    due : last minute of the date to be met; None asks for the earliest P80 instead. [min] confidence : with
    which the date is to be met. budget : mean cost that the earliest may have; None without bound.
    shown_by : trials that are to show that it holds; a search then wants what holds by more than their error.
    """

    due: int | None = None
    confidence: float = P80
    budget: float | None = None
    shown_by: int | None = None

    @property
    def is_cost(self) -> bool:
        """Whether the cost is made small, as there is a date."""
        return self.due is not None

    def objective(self, sample: Sample) -> float:
        """Mean cost, or P80 in days since the start; infinite beyond the horizon."""
        return sample.mean_cost if self.is_cost else sample.quantile_min(P80) / DAY_MIN

    def margin(self, sample: Sample) -> float:
        """By how much it holds, below 0 if it does not: a share of the trials, or money."""
        if self.due is not None:
            return float(np.mean(sample.finish <= self.due)) - self.confidence
        return np.inf if self.budget is None else self.budget - sample.mean_cost

    def rank(self, sample: Sample) -> tuple[int, float, float]:
        """The smaller the better: what holds by its objective, then what does not by how little it lacks."""
        objective, margin = self.objective(sample), self.margin(sample)
        holds = margin >= self.spare(sample) and objective < np.inf
        return (0, objective, 0.0) if holds else (1, -margin, objective)

    def spare(self, sample: Sample) -> float:
        """By how much it is to hold in a search, so that fresh draws can show that it does."""
        if self.shown_by is None:
            return 0.0
        return float(SPARE_ERRORS * self._margin_spread(sample) / self.shown_by**0.5)

    def is_doubtful(self, sample: Sample) -> bool:
        """Whether its trials leave open that it holds, or that it does not."""
        error = self._margin_spread(sample) / float(len(sample)) ** 0.5
        return bool(abs(self.margin(sample) - self.spare(sample)) < SPARE_ERRORS * error)

    def _margin_spread(self, sample: Sample) -> float:
        """Spread of one trial of the margin, in its unit."""
        if self.is_cost:
            return float((self.confidence * (1 - self.confidence)) ** 0.5)
        if self.budget is None or np.any(sample.cost == LATER):
            return 0.0
        return float(np.std(sample.cost / PARTS))

    def margin_ends(self, sample: Sample, *, tail: float) -> tuple[float, float]:
        """Lower and upper end of the margin, each wrong with so much chance. Minus infinity if unknown."""
        if self.due is not None:
            met = chance(sample.finish <= self.due, confidence=1 - 2 * tail)
            return met.low - self.confidence, met.high - self.confidence
        if self.budget is None:
            return np.inf, np.inf
        if np.any(sample.cost == LATER):
            return -np.inf, -np.inf
        left = self.budget - sample.cost / PARTS
        ends = paired_difference(left, np.zeros(len(left)), confidence=1 - 2 * tail)
        return ends.low, ends.high

    def gain_ends(self, own: Sample, other: Sample, *, seed: int, tail: float) -> tuple[float, float]:
        """Ends of the objective of one less that of another over common trials, each wrong by chance `tail`.

        Money, or days of P80. An own trial beyond the horizon makes it infinitely worse.
        """
        if np.any(own.cost == LATER) or np.any(own.finish == LATER):
            return np.inf, np.inf
        if np.any(other.finish == LATER):
            return -np.inf, -np.inf
        if self.is_cost:
            ends = paired_difference(own.cost / PARTS, other.cost / PARTS, confidence=1 - 2 * tail)
            return ends.low, ends.high
        rng = stream(seed, 0, "bootstrap of a choice")
        days = percentile_difference(own.finish, other.finish, P80, rng=rng, resamples=400)
        return normal_ends(days, tail=tail)

    def gaps(self, own: Sample, best: Sample) -> tuple[float, float]:
        """How far a set-up is from being the best, and the spread of that in one trial.

        By the objective or by what it lacks, whichever tells sooner: what is far behind in either need not be
        played much.
        """
        n = min(len(own), len(best))
        own, best = own.first(n), best.first(n)
        if not np.isfinite(self.objective(own)) or not np.isfinite(self.objective(best)):
            return 1.0, 0.0
        a, b = self._spreading(own), self._spreading(best)
        behind = self.objective(own) - self.objective(best), float(np.std(a - b))
        if self.is_cost:
            lacking = -self.margin(own), (self.confidence * (1 - self.confidence)) ** 0.5
        elif self.budget is not None:
            lacking = -self.margin(own), float(np.std(own.cost / PARTS))
        else:
            lacking = (0.0, 1.0)
        return max(behind, lacking, key=lambda gap: gap[0] / max(gap[1], 1e-9))

    def _spreading(self, sample: Sample) -> Floats:
        """Per trial: money; or days, spread as much as those of a P80 are."""
        if self.is_cost:
            return sample.cost / PARTS
        days: Floats = QUANTILE_SPREAD * sample.finish / DAY_MIN
        return days


# Of a normal law, the spread of its quantile is that of its mean times sqrt(p (1 - p)) / density.
QUANTILE_SPREAD = 1.43


def normal_ends(days: Difference | None, *, tail: float) -> tuple[float, float]:
    """Ends of a difference of quantiles [d] from the spread of its bootstrap, by the normal law."""
    from scipy.special import ndtri

    if days is None:
        return -np.inf, np.inf
    half = -float(ndtri(tail)) * days.sd
    return (days.mean - half) / DAY_MIN, (days.mean + half) / DAY_MIN
